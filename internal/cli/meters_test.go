package cli

import (
	"context"
	"net"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"railtally/internal/simbench"
)

// bench: serves a simulated bench whose time costs none, until the script ends.
// $DESK, $PROBE, $LOGGER1 and $LOGGER2 are its meters' addresses, $DESKPORT a port.
func scriptBench(ts *testscript.TestScript, _ bool, _ []string) {
	b, err := simbench.New(simbench.Config{Loggers: 2, Clock: simbench.Virtual()})
	ts.Check(err)
	places, stop, err := b.Serve(context.Background(), 0)
	ts.Check(err)
	ts.Defer(stop)
	for i, name := range []string{"DESK", "PROBE", "LOGGER1", "LOGGER2"} {
		ts.Setenv(name, places[i].Address)
	}
	_, port, err := net.SplitHostPort(places[0].Address)
	ts.Check(err)
	ts.Setenv("DESKPORT", strings.TrimSpace(port))
}
