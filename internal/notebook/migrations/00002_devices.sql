-- +goose Up
-- Devices of the local network that were let in, and those sent away again.
-- The token itself stays with the device; the file holds its SHA-256.

CREATE TABLE device (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  name      TEXT NOT NULL,
  token     TEXT NOT NULL UNIQUE,
  paired_at TEXT NOT NULL
) STRICT;

CREATE TABLE device_revoked (
  device     INTEGER PRIMARY KEY REFERENCES device (id),
  revoked_at TEXT NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER device_never_changed BEFORE UPDATE ON device BEGIN
  SELECT RAISE(ABORT, 'rows of device are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER device_never_deleted BEFORE DELETE ON device BEGIN
  SELECT RAISE(ABORT, 'rows of device are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER device_revoked_never_changed BEFORE UPDATE ON device_revoked BEGIN
  SELECT RAISE(ABORT, 'rows of device_revoked are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER device_revoked_never_deleted BEFORE DELETE ON device_revoked BEGIN
  SELECT RAISE(ABORT, 'rows of device_revoked are never deleted');
END;
-- +goose StatementEnd
