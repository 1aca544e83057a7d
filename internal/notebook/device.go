package notebook

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"strings"
	"time"
)

// Device is a browser of the local network that was let in.
type Device struct {
	ID      int64
	Name    string // as the person called it: "phone at the bench"
	Paired  time.Time
	Revoked time.Time // zero: it still may come in
}

const maxDeviceName = 60

// Pair lets a device in that shows this token from now on.
func (nb *Notebook) Pair(ctx context.Context, name, token string) (d Device, err error) {
	const op = "pair device"
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || len(name) > maxDeviceName {
		return d, invalid(op, "a device needs a name of at most %d characters", maxDeviceName)
	}
	if token == "" {
		return d, invalid(op, "a device needs a token")
	}
	err = nb.write(ctx, op, func(t *tx) error {
		d = Device{Name: name, Paired: t.now}
		r, err := t.ExecContext(t.ctx, "INSERT INTO device (name, token, paired_at) VALUES (?, ?, ?)",
			name, tokenHash(token), writeStamp(t.now))
		if err != nil {
			return err
		}
		d.ID, err = r.LastInsertId()
		return err
	})
	return d, err
}

// Devices lists every device that was ever let in, the newest first.
func (nb *Notebook) Devices(ctx context.Context) (out []Device, err error) {
	err = nb.read(ctx, "read devices", func(q querier) error {
		rows, err := q.query(selectDevice + " ORDER BY d.id DESC")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			d, err := scanDevice(rows.Scan)
			if err != nil {
				return err
			}
			out = append(out, d)
		}
		return rows.Err()
	})
	return out, err
}

// DeviceByToken returns the device that shows a token. An unknown token and one
// of a device that was sent away are NotFound.
func (nb *Notebook) DeviceByToken(ctx context.Context, token string) (d Device, err error) {
	const op = "read device"
	err = nb.read(ctx, op, func(q querier) error {
		d, err = scanDevice(q.row(selectDevice+" WHERE d.token = ? AND r.device IS NULL", tokenHash(token)).Scan)
		if errors.Is(err, sql.ErrNoRows) {
			return &Error{Code: NotFound, Op: op, Err: errors.New("no device shows this token")}
		}
		return err
	})
	return d, err
}

// Revoke sends a device away; it may be paired anew. Doing it twice changes
// nothing.
func (nb *Notebook) Revoke(ctx context.Context, id int64) error {
	const op = "revoke device"
	return nb.write(ctx, op, func(t *tx) error {
		var n int
		if err := t.row("SELECT count(*) FROM device WHERE id = ?", id).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return &Error{Code: NotFound, Op: op, Err: errors.New("no such device")}
		}
		_, err := t.ExecContext(t.ctx, "INSERT INTO device_revoked (device, revoked_at) VALUES (?, ?) ON CONFLICT DO NOTHING",
			id, writeStamp(t.now))
		return err
	})
}

const selectDevice = "SELECT d.id, d.name, d.paired_at, coalesce(r.revoked_at, '') FROM device d LEFT JOIN device_revoked r ON r.device = d.id"

func scanDevice(scan func(...any) error) (d Device, err error) {
	var paired, revoked string
	if err := scan(&d.ID, &d.Name, &paired, &revoked); err != nil {
		return d, err
	}
	if d.Paired, err = readStamp(paired); err != nil {
		return d, err
	}
	if revoked != "" {
		d.Revoked, err = readStamp(revoked)
	}
	return d, err
}

func tokenHash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}
