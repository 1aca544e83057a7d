package cli

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

// browserNames are the programs of browsers that print without a window, as they
// are usually called.
func browserNames() []string {
	names := []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "microsoft-edge", "msedge", "brave-browser"}
	if runtime.GOOS == "darwin" {
		for _, app := range []string{"Chromium", "Google Chrome", "Microsoft Edge", "Brave Browser"} {
			names = append(names, "/Applications/"+app+".app/Contents/MacOS/"+app)
		}
	}
	return names
}

// howToPrint is said where no browser is found.
const howToPrint = `Without --pdf the page is written as HTML. Open it in any browser, print it (Ctrl+P),
choose to save as PDF, switch the browser's own headers and footers off and
background graphics on.`

// findBrowser is the browser that prints: the one that is named, else the first
// that is installed.
func findBrowser(named string) (string, error) {
	if named != "" {
		path, err := exec.LookPath(named)
		if err != nil {
			return "", fmt.Errorf("browser %s: %w\n%s", named, err, howToPrint)
		}
		return path, nil
	}
	for _, name := range browserNames() {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", fmt.Errorf("no browser of the Chromium family is installed to print with; --browser names one that is elsewhere\n%s", howToPrint)
}

// printPage lets a browser print a page to a PDF file. It gets a profile of its
// own in a folder that is thrown away, and no network: the page needs none.
func printPage(ctx context.Context, browser, dir, page, pdf string) error {
	page, err := filepath.Abs(page)
	if err != nil {
		return err
	}
	args := []string{"--headless", "--disable-gpu", "--no-first-run", "--disable-extensions", "--host-resolver-rules=MAP * ~NOTFOUND",
		"--user-data-dir=" + filepath.Join(dir, "profile"), "--no-pdf-header-footer", "--print-to-pdf=" + pdf}
	if os.Geteuid() == 0 {
		args = append(args, "--no-sandbox") // browsers refuse root otherwise; the page is our own and runs no script
	}
	cmd := exec.CommandContext(ctx, browser, append(args, (&url.URL{Scheme: "file", Path: filepath.ToSlash(page)}).String())...)
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	err = cmd.Run()
	if info, statErr := os.Stat(pdf); statErr == nil && info.Size() > 0 && err == nil {
		return nil
	}
	return fmt.Errorf("%s printed nothing: %v\n%s\n%s", browser, err, lastLines(said.String(), 5), howToPrint)
}

// lastLines are the last lines of what a program said.
func lastLines(s string, n int) string {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	return strings.Join(lines[max(0, len(lines)-n):], "\n")
}
