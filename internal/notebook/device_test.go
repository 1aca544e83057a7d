package notebook

import (
	"context"
	"database/sql"
	"path/filepath"
	"strings"
	"testing"
)

func TestDevices(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "n.db")
	nb, err := Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer nb.Close()
	for _, bad := range []string{"", "  ", strings.Repeat("x", maxDeviceName+1)} {
		if _, err := nb.Pair(ctx, bad, "t"); CodeOf(err) != Invalid {
			t.Errorf("name %q: %v", bad, err)
		}
	}
	if _, err := nb.Pair(ctx, "phone", ""); CodeOf(err) != Invalid {
		t.Errorf("no token: %v", err)
	}
	phone, err := nb.Pair(ctx, "  phone at the\tbench ", "secret one")
	if err != nil || phone.Name != "phone at the bench" || phone.Paired.IsZero() {
		t.Fatalf("%+v, %v", phone, err)
	}
	if _, err := nb.Pair(ctx, "another", "secret one"); err == nil {
		t.Error("two devices show one token")
	}
	tablet, err := nb.Pair(ctx, "tablet", "secret two")
	if err != nil {
		t.Fatal(err)
	}
	if got, err := nb.DeviceByToken(ctx, "secret one"); err != nil || got.ID != phone.ID {
		t.Errorf("got %+v, %v", got, err)
	}
	for _, wrong := range []string{"", "secret", "secret three", tokenHash("secret one")} {
		if _, err := nb.DeviceByToken(ctx, wrong); CodeOf(err) != NotFound {
			t.Errorf("token %q: %v", wrong, err)
		}
	}
	for range 2 {
		if err := nb.Revoke(ctx, phone.ID); err != nil {
			t.Fatal(err)
		}
	}
	if err := nb.Revoke(ctx, 99); CodeOf(err) != NotFound {
		t.Errorf("an unknown device: %v", err)
	}
	if _, err := nb.DeviceByToken(ctx, "secret one"); CodeOf(err) != NotFound {
		t.Errorf("a device that was sent away: %v", err)
	}
	if _, err := nb.DeviceByToken(ctx, "secret two"); err != nil {
		t.Errorf("the other device: %v", err)
	}
	list, err := nb.Devices(ctx)
	if err != nil || len(list) != 2 || list[0].ID != tablet.ID || !list[0].Revoked.IsZero() || list[1].Revoked.IsZero() {
		t.Errorf("list %+v, %v", list, err)
	}
	if problems, err := nb.Check(ctx); err != nil || len(problems) > 0 {
		t.Errorf("check: %v, %v", problems, err)
	}
}

// Rows of devices are never changed either, and the file does not hold tokens.
func TestDeviceRowsStay(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "n.db")
	nb, err := Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	d, err := nb.Pair(ctx, "phone", "secret one")
	if err != nil {
		t.Fatal(err)
	}
	if err := nb.Revoke(ctx, d.ID); err != nil {
		t.Fatal(err)
	}
	nb.Close()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range []string{
		"UPDATE device SET name = 'x'", "DELETE FROM device WHERE id = 1",
		"UPDATE device_revoked SET revoked_at = ''", "DELETE FROM device_revoked",
	} {
		if _, err := db.Exec(q); err == nil || !strings.Contains(err.Error(), "never") {
			t.Errorf("%s: %v", q, err)
		}
	}
	var token string
	if err := db.QueryRow("SELECT token FROM device").Scan(&token); err != nil || strings.Contains(token, "secret") || len(token) != 64 {
		t.Errorf("the file holds %q, error %v", token, err)
	}
}
