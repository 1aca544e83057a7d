package notebook

import (
	"path/filepath"
	"testing"
)

func TestDefaultPath(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		goos string
		env  map[string]string
		want string
	}{
		{"linux", map[string]string{"HOME": "/home/k", "XDG_DATA_HOME": "/data"}, "/data/railtally/notebook.db"},
		{"linux", map[string]string{"HOME": "/home/k"}, "/home/k/.local/share/railtally/notebook.db"},
		{"linux", map[string]string{"HOME": "/home/k", "XDG_DATA_HOME": "data"}, "/home/k/.local/share/railtally/notebook.db"},
		{"freebsd", map[string]string{"HOME": "/home/k"}, "/home/k/.local/share/railtally/notebook.db"},
		{"darwin", map[string]string{"HOME": "/Users/k", "XDG_DATA_HOME": "/data"}, "/Users/k/Library/Application Support/railtally/notebook.db"},
		{"windows", map[string]string{"LocalAppData": `/c/local`}, "/c/local/railtally/notebook.db"},
		{"linux", nil, ""},
		{"windows", map[string]string{"HOME": "/home/k"}, ""},
	} {
		got, err := DefaultPath(func(k string) string { return c.env[k] }, c.goos)
		if filepath.ToSlash(got) != c.want || (err != nil) != (c.want == "") {
			t.Errorf("%s %v: %q %v", c.goos, c.env, got, err)
		}
	}
	if got := BackupFolder("/a/b.c/notebook.db"); got != "/a/b.c/notebook-backups" {
		t.Errorf("the backups are in %s", got)
	}
}
