package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"runtime"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
	"railtally/internal/web"
)

type serveFlags struct {
	notebook  string
	addr      string
	lan       bool
	noBrowser bool
}

// servePort is where the notebook is found unless another address is named: one
// that stays, since browsers keep unsent entries by address. Any port from 1024
// up would do; this one is not registered for anything (from memory).
const servePort = "7417"

func newServe() *cobra.Command {
	var f serveFlags
	c := &cobra.Command{
		Use:   "serve",
		Short: "the notebook in the browser",
		Long: `serve opens the notebook and serves its pages to this computer's browser until
it is interrupted. The notebook is one file; it is begun where there is none,
and backed up by itself while it is served.

With --lan the local network is served too. A phone is let in with a code that
the page Devices shows; without one nobody reads or writes. What goes over the
network is not encrypted.`,
		Example: `  railtally serve
  railtally serve --notebook bench.db --no-browser
  railtally serve --lan`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return runServe(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.StringVar(&f.addr, "addr", "", "address to listen on (127.0.0.1:"+servePort+"; with --lan :"+servePort+")")
	fl.BoolVar(&f.lan, "lan", false, "serve the local network too, to devices that are paired")
	fl.BoolVar(&f.noBrowser, "no-browser", false, "do not open a browser")
	return c
}

func runServe(ctx context.Context, out, errOut io.Writer, f serveFlags) error {
	nb, err := openNotebook(ctx, f.notebook, false)
	if err != nil {
		return err
	}
	defer nb.Close()
	l, err := listen(f)
	if err != nil {
		return err
	}
	defer l.Close()
	p, err := placeOf(l.Addr(), f.lan)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(errOut, nil))
	h, err := web.New(web.Config{Notebook: nb, Logger: log, Program: program(), Hosts: p.hosts, Address: p.address})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Notebook %s\n", nb.Path())
	fmt.Fprintf(out, "Open     %s\n", p.local)
	if f.lan {
		fmt.Fprintf(out, "Network  %s (pair devices at %s/devices)\n", p.address, p.local)
	}
	fmt.Fprintln(out, "Stop with Ctrl-C.")

	ctx, stop := context.WithCancel(ctx)
	defer stop()
	backups := make(chan struct{})
	go func() {
		defer close(backups)
		nb.RunBackups(ctx, time.Hour, notebook.DefaultKeep(), func(path string, err error) {
			if err != nil {
				log.Error("automatic backup failed", "error", err)
			} else {
				log.Info("backed up", "to", path)
			}
		})
	}()
	if !f.noBrowser {
		openBrowser(p.local)
	}
	err = serveUntil(ctx, l, h, log)
	h.EndRecordings()
	stop()
	<-backups
	return err
}

// serveUntil serves until ctx ends, then lets what is under way finish.
func serveUntil(ctx context.Context, l net.Listener, h http.Handler, log *slog.Logger) error {
	base, end := context.WithCancel(context.WithoutCancel(ctx))
	defer end()
	srv := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
		BaseContext:       func(net.Listener) context.Context { return base },
	}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	end() // pages that listen for changes let go
	within, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := srv.Shutdown(within); err != nil {
		return fmt.Errorf("stop serving: %w", err)
	}
	return nil
}

// listen takes the address that was asked for, or the usual one. Where the
// usual one is taken, any other does.
func listen(f serveFlags) (net.Listener, error) {
	host := "127.0.0.1"
	if f.lan {
		host = ""
	}
	addr := f.addr
	if addr == "" {
		addr = net.JoinHostPort(host, servePort)
	}
	if err := checkAddr(addr, f.lan); err != nil {
		return nil, err
	}
	l, err := net.Listen("tcp", addr)
	if err != nil && f.addr == "" && errors.Is(err, syscall.EADDRINUSE) {
		l, err = net.Listen("tcp", net.JoinHostPort(host, "0"))
	}
	if err != nil {
		return nil, fmt.Errorf("serve: %w", err)
	}
	return l, nil
}

// checkAddr refuses to open more than was asked for.
func checkAddr(addr string, lan bool) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return usage{fmt.Errorf("--addr %s: HOST:PORT is accepted, as in 127.0.0.1:%s", addr, servePort)}
	}
	ip := net.ParseIP(host)
	if !lan && host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return usage{fmt.Errorf("--addr %s: without --lan only this computer is served; 127.0.0.1, ::1 and localhost are accepted", addr)}
	}
	return nil
}

// openBrowser asks the system for a browser. Where there is none the address
// was printed, so an error is no matter.
func openBrowser(url string) {
	name, args := "xdg-open", []string{url}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", url}
	case "linux":
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return
		}
	}
	c := exec.Command(name, args...)
	if c.Start() == nil {
		go c.Wait() // so that it does not stay as a zombie
	}
}
