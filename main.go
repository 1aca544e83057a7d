// Railtally tells how much power a chip soldered to a board really draws, from
// what can be read at the rails that feed it, and how far that figure can be
// trusted.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"railtally/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := cli.Run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
