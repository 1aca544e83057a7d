package cli

import "runtime/debug"

// version is the module's version as it was built: a release's, or the
// revision of the sources.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	if v == "" || v == "(devel)" {
		v = "development"
	}
	return v
}

// program names the program and its version, for what it writes.
func program() string { return "railtally " + version() }
