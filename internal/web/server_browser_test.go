package web

import (
	"compress/gzip"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/scratch"
	"railtally/internal/study"
	"railtally/internal/studyfile"
)

var shots = flag.String("shots", "", "folder to write a picture of every page to")

// newNotebook begins a notebook in a folder of the test.
func newNotebook(t testing.TB) *notebook.Notebook {
	t.Helper()
	nb, err := notebook.Open(t.Context(), filepath.Join(t.TempDir(), "bench.db"), notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { nb.Close() })
	return nb
}

// newServer makes a server for this computer only.
func newServer(t testing.TB, nb *notebook.Notebook) *Server {
	t.Helper()
	s, err := New(Config{Notebook: nb, Program: "railtally test"})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// worked is the worked example, read once for all tests.
var worked = sync.OnceValues(func() (*study.Study, error) {
	x, _, err := studyfile.Read("example", example.New(example.Seed).Text)
	return x, err
})

// importExample puts the worked example into a notebook and returns its number.
func importExample(t testing.TB, nb *notebook.Notebook) int64 {
	t.Helper()
	x, err := worked()
	if err != nil {
		t.Fatal(err)
	}
	p, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	return p.StudyID
}

// listening serves a server on a port of its own.
func listening(t testing.TB, s *Server) string {
	t.Helper()
	srv := httptest.NewServer(s)
	t.Cleanup(func() {
		srv.CloseClientConnections() // pages that listen for changes never end by themselves
		srv.Close()
	})
	return srv.URL
}

// browser is a tab of a real browser, which these tests need: without one they
// fail.
type browser struct {
	t    testing.TB
	ctx  context.Context
	base string
}

// chromium is one browser process for all tests; a test without one fails.
var chromium = sync.OnceValues(func() (context.Context, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		path, err := exec.LookPath(name)
		if err != nil {
			continue
		}
		options := []chromedp.ExecAllocatorOption{chromedp.ExecPath(path)}
		for _, f := range []string{
			"headless", "no-sandbox",
			// No tab is to be thought of as the one behind, and kept waiting.
			"disable-renderer-backgrounding", "disable-background-timer-throttling", "disable-backgrounding-occluded-windows",
		} {
			options = append(options, chromedp.Flag(f, true))
		}
		allocated, stop := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, end := chromedp.NewContext(allocated)
		atExit = append(atExit, end, stop)
		return ctx, chromedp.Do(ctx) // the browser lives as long as the context of its first action
	}
	return nil, errors.New("no Chromium on the PATH: install the package chromium, these tests drive a real browser")
})

var atExit []func()

// atMost is how long a test waits for the browser: no machine is so busy, and
// nothing waits so long that works.
const atMost = 3 * time.Minute

func TestMain(m *testing.M) {
	scratch.InMemory()
	code := m.Run()
	for _, f := range atExit {
		f()
	}
	os.Exit(code)
}

// newBrowser opens a tab that shares nothing with another test's: cookies,
// storage and workers are its own.
func newBrowser(t testing.TB, base string) *browser {
	t.Helper()
	all, err := chromium()
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := chromedp.NewContext(all, chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	b := &browser{t, ctx, base}
	b.focused()
	return b
}

// focused lets a tab behave as the one in front although others are open.
func (b *browser) focused() {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true}); err != nil {
		b.t.Fatal(err)
	}
}

// tab opens another tab of the same browser.
func (b *browser) tab() *browser {
	ctx, end := chromedp.NewContext(b.ctx)
	b.t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil {
		b.t.Fatal(err)
	}
	x := &browser{b.t, ctx, b.base}
	x.focused()
	return x
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, atMost)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatalf("browser at %s: %v", b.where(), err)
	}
}

func (b *browser) where() string {
	u, err := chromedp.Run(b.ctx, chromedp.Evaluate[string]("location.pathname"))
	if err != nil {
		return "no page"
	}
	return u
}

func (b *browser) open(path string) { b.t.Helper(); b.do(chromedp.Navigate(b.base + path)) }
func (b *browser) click(sel string) { b.t.Helper(); b.do(chromedp.Click(sel)) }
func (b *browser) keys(text string) { b.t.Helper(); b.do(chromedp.KeyEvent(text)) }
func (b *browser) wait(sel string)  { b.t.Helper(); b.do(chromedp.WaitVisible(sel)) }

// fill fills a field as a person does.
func (b *browser) fill(sel, text string) {
	b.t.Helper()
	b.do(chromedp.Clear(sel), chromedp.SendKeys(sel, text))
}

// eval returns what a script comes to.
func eval[T any](b *browser, script string) T {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, atMost)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script))
	if err != nil {
		b.t.Fatalf("browser at %s: %s: %v", b.where(), script, err)
	}
	return v
}

// until waits for a script to come true on a page that is all there: a new page
// has its address before it has its elements.
func (b *browser) until(script string) {
	b.t.Helper()
	var last error
	for began := time.Now(); time.Since(began) < atMost; time.Sleep(10 * time.Millisecond) {
		// A page that is just being left cannot answer; the next one can.
		ok, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("document.readyState !== 'loading' && ("+script+")"))
		if ok && err == nil {
			return
		}
		last = err
	}
	b.t.Fatalf("browser at %s: never true: %s: %v", b.where(), script, last)
}

// leave goes to an empty page: one that draws itself anew in another theme loads
// itself again, and a page opened then would be given up for it.
func (b *browser) leave() { b.t.Helper(); b.do(chromedp.Navigate("about:blank")) }

// look sets width and theme ("light" or "dark").
func (b *browser) look(width int64, theme string) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(width, 900))
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: theme}},
	})
	if err != nil {
		b.t.Fatal(err)
	}
}

// withoutScript switches scripts off from the next page on.
func (b *browser) withoutScript() {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	if err != nil {
		b.t.Fatal(err)
	}
}

// fits fails the test where the page is wider than the window.
func (b *browser) fits() {
	b.t.Helper()
	if over := eval[float64](b, "document.documentElement.scrollWidth - document.documentElement.clientWidth"); over > 0 {
		b.t.Errorf("%s at %v px is %v px too wide", b.where(), eval[float64](b, "innerWidth"), over)
	}
}

// accessible runs axe-core on the page with the rules of WCAG 2.2 A and AA.
func (b *browser) accessible() {
	b.t.Helper()
	b.axe(`{type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}`)
}

// legible runs those rules of axe-core that another theme or width can break
// after accessible found nothing.
func (b *browser) legible() {
	b.t.Helper()
	b.axe(`{type: "rule", values: ["color-contrast", "target-size", "link-in-text-block"]}`)
}

func (b *browser) axe(only string) {
	b.t.Helper()
	if !eval[bool](b, "'axe' in window") {
		source, err := axe()
		if err != nil {
			b.t.Fatal(err)
		}
		eval[bool](b, source+"; true")
	}
	// Nothing is fetched beforehand: that serves one rule, about sound that plays by
	// itself, and no page has sound.
	run := `axe.run(document, {resultTypes: ["violations"], preload: false, runOnly: ` + only + `})
		.then(r => r.violations.map(v => v.id + ": " + v.help + " " + v.nodes.slice(0, 4).map(n => n.target.join(" ") + " | " + n.failureSummary).join("; ")))`
	ctx, stop := context.WithTimeout(b.ctx, atMost)
	defer stop()
	bad, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](run, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("axe at %s: %v", b.where(), err)
	}
	for _, v := range bad {
		b.t.Errorf("%s: %s", b.where(), v)
	}
}

// screens opens pages one by one and looks at each at three widths and in both
// themes (with -shots, in all six combinations): nothing reaches beyond the
// window, axe-core finds nothing.
func (b *browser) screens(pages []screen) {
	b.t.Helper()
	for _, x := range pages {
		b.leave()
		b.look(360, "light")
		b.open(x.path)
		b.until("document.fonts.status === 'loaded'")
		for _, width := range []int64{360, 820, 1440} {
			for _, theme := range []string{"light", "dark"} {
				if *shots == "" && (width == 1440) != (theme == "dark") {
					continue // every width and every theme once
				}
				b.look(width, theme)
				b.fits()
				switch {
				case width == 360 && theme == "light":
					b.accessible()
				case width == 1440 && theme == "dark":
					b.legible()
				}
				b.picture(fmt.Sprintf("%s-%d-%s", x.name, width, theme))
			}
		}
	}
}

// axe is the source of axe-core.
var axe = sync.OnceValues(func() (string, error) {
	f, err := os.Open("testdata/axe.min.js.gz")
	if err != nil {
		return "", err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return "", err
	}
	text, err := io.ReadAll(z)
	return string(text), err
})

// picture writes what the page looks like, where -shots says so.
func (b *browser) picture(name string) {
	b.t.Helper()
	if *shots == "" {
		return
	}
	var png []byte
	var err error
	for range 3 { // a page that is just being loaded again may never answer
		ctx, stop := context.WithTimeout(b.ctx, 20*time.Second)
		png, err = chromedp.Run(ctx, chromedp.FullScreenshot(100))
		stop()
		if err == nil {
			break
		}
	}
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*shots, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// complaints collects what the browser itself complains about: exceptions, and
// what the policy forbids. Call it before pages are opened.
func (b *browser) complaints() func() []string {
	b.t.Helper()
	eval[bool](b, "true") // the tab exists
	var mu sync.Mutex
	var said []string
	messages := chromedp.Console(b.ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if m.IsException() || strings.Contains(m.String(), "Content Security Policy") || strings.Contains(m.String(), "Error") {
				mu.Lock()
				said = append(said, m.String())
				mu.Unlock()
			}
		}
	}()
	return func() []string {
		mu.Lock()
		defer mu.Unlock()
		return said
	}
}
