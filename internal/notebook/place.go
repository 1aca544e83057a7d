package notebook

import (
	"errors"
	"path/filepath"
	"strings"
)

// DefaultPath returns where the notebook is kept unless another file is named.
// env looks up the environment (os.Getenv), goos is runtime.GOOS.
//
//	Linux and others  $XDG_DATA_HOME/railtally, or ~/.local/share/railtally
//	macOS             ~/Library/Application Support/railtally
//	Windows           %LocalAppData%\railtally
//
// The Linux folder is that of the XDG Base Directory Specification 0.8, which
// also says that a relative path in the variable is to be ignored.
func DefaultPath(env func(string) string, goos string) (string, error) {
	const app, file = "railtally", "notebook.db"
	switch goos {
	case "windows":
		if d := env("LocalAppData"); d != "" {
			return filepath.Join(d, app, file), nil
		}
		return "", errors.New("find the data folder: %LocalAppData% is not set")
	case "darwin":
		if d := env("HOME"); d != "" {
			return filepath.Join(d, "Library", "Application Support", app, file), nil
		}
	default:
		if d := env("XDG_DATA_HOME"); filepath.IsAbs(d) {
			return filepath.Join(d, app, file), nil
		}
		if d := env("HOME"); d != "" {
			return filepath.Join(d, ".local", "share", app, file), nil
		}
	}
	return "", errors.New("find the data folder: $HOME is not set")
}

// BackupFolder returns where the backups of a notebook are kept: beside it, in
// a folder of its own.
func BackupFolder(path string) string {
	return strings.TrimSuffix(path, filepath.Ext(path)) + "-backups"
}
