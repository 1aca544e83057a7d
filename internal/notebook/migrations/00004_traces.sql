-- +goose Up
-- Traces: logged time series as compressed columns, see package trace/packed.

-- trace: where a record comes from. Its samples only grow until trace_end.
CREATE TABLE trace (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  study       INTEGER NOT NULL REFERENCES study (id),
  source      TEXT NOT NULL CHECK (source IN ('log', 'meters')),
  file        TEXT NOT NULL,    -- name of the log, without folders
  size        INTEGER NOT NULL, -- of the log in bytes
  head        TEXT NOT NULL,    -- SHA-256 of its first 64 KiB, empty of meters
  origin      TEXT NOT NULL,    -- what times count from; empty: not known
  zone        INTEGER NOT NULL CHECK (zone IN (0, 1)), -- 0: origin is a clock on the wall, written as if UTC
  settings    TEXT NOT NULL,    -- JSON: the profile of a log, the meters and queries of a live record
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL
) STRICT;
CREATE INDEX trace_study ON trace (study, id);
CREATE INDEX trace_head ON trace (head, size);

-- trace_end: a record was finished, or given up and its samples removed.
CREATE TABLE trace_end (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  trace       INTEGER NOT NULL UNIQUE REFERENCES trace (id),
  outcome     TEXT NOT NULL CHECK (outcome IN ('complete', 'abandoned')),
  sha256      TEXT NOT NULL, -- of the log
  origin      TEXT NOT NULL, -- as in trace, where it was found on the way
  zone        INTEGER NOT NULL CHECK (zone IN (0, 1)),
  notes       TEXT NOT NULL, -- JSON list: what a person should know
  accepted_at TEXT NOT NULL
) STRICT;

-- series: a channel, or a clock: the times that channels sampled together share.
CREATE TABLE series (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  trace   INTEGER NOT NULL REFERENCES trace (id),
  ordinal INTEGER NOT NULL,
  clock   INTEGER NOT NULL, -- ordinal of its clock; its own for a clock
  name    TEXT NOT NULL,
  unit    TEXT NOT NULL,
  UNIQUE (trace, ordinal)
) STRICT;

-- chunk: 65536 samples of a series, fewer in its last.
CREATE TABLE chunk (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  series  INTEGER NOT NULL REFERENCES series (id),
  seq     INTEGER NOT NULL, -- from 0
  samples INTEGER NOT NULL CHECK (samples > 0),
  least   REAL, -- of the finite samples; null when there are none
  most    REAL,
  moments BLOB NOT NULL,
  data    BLOB NOT NULL,
  UNIQUE (series, seq)
) STRICT;

-- outline: 256 buckets of 256 samples (level 0), 4096 (level 1) and so on; the last of a level may hold fewer.
CREATE TABLE outline (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  series  INTEGER NOT NULL REFERENCES series (id),
  level   INTEGER NOT NULL,
  seq     INTEGER NOT NULL,
  data    BLOB NOT NULL,
  UNIQUE (series, level, seq)
) STRICT;

-- tail: samples of a growing record that do not fill a chunk yet, all channels of a clock in a row.
CREATE TABLE tail (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  series  INTEGER NOT NULL REFERENCES series (id), -- the clock
  first   INTEGER NOT NULL, -- samples before
  samples INTEGER NOT NULL CHECK (samples > 0),
  data    BLOB NOT NULL, -- a chunk of times, then one of each channel, each behind its length
  UNIQUE (series, first)
) STRICT;

-- mapping: what a trace is called and what its channels are; a trace whose mapping is withdrawn counts no more.
CREATE TABLE mapping (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  first       INTEGER REFERENCES mapping (id),
  supersedes  INTEGER UNIQUE REFERENCES mapping (id),
  same_as     INTEGER REFERENCES mapping (id),
  withdrawn   INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  study       INTEGER NOT NULL REFERENCES study (id),
  trace       INTEGER NOT NULL REFERENCES trace (id),
  name        TEXT NOT NULL,
  note        TEXT NOT NULL,
  channels    TEXT NOT NULL, -- JSON list: channel, what it is, rail and tap
  key         TEXT NOT NULL UNIQUE,
  device      TEXT NOT NULL,
  who         TEXT NOT NULL,
  why         TEXT NOT NULL,
  taken_at    TEXT NOT NULL,
  accepted_at TEXT NOT NULL,
  CHECK ((first IS NULL) = (supersedes IS NULL))
) STRICT;
CREATE INDEX mapping_first ON mapping (first);
CREATE UNIQUE INDEX mapping_trace ON mapping (trace) WHERE first IS NULL;

-- log_profile: how a kind of file was read; the newest of a fingerprint serves the next.
CREATE TABLE log_profile (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  fingerprint TEXT NOT NULL,
  body        TEXT NOT NULL, -- JSON
  channels    TEXT NOT NULL, -- JSON: the mapping by names of channels
  accepted_at TEXT NOT NULL
) STRICT;
CREATE INDEX log_profile_fingerprint ON log_profile (fingerprint, id);

-- +goose StatementBegin
CREATE TRIGGER mapping_added AFTER INSERT ON mapping BEGIN
  INSERT INTO change (study, what, row) VALUES (NEW.study, 'mapping', NEW.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER trace_end_added AFTER INSERT ON trace_end BEGIN
  INSERT INTO change (study, what, row) VALUES ((SELECT study FROM trace WHERE id = NEW.trace), 'trace_end', NEW.id);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER trace_never_changed BEFORE UPDATE ON trace BEGIN
  SELECT RAISE(ABORT, 'rows of trace are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER trace_end_never_changed BEFORE UPDATE ON trace_end BEGIN
  SELECT RAISE(ABORT, 'rows of trace_end are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER series_never_changed BEFORE UPDATE ON series BEGIN
  SELECT RAISE(ABORT, 'rows of series are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER chunk_never_changed BEFORE UPDATE ON chunk BEGIN
  SELECT RAISE(ABORT, 'rows of chunk are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outline_never_changed BEFORE UPDATE ON outline BEGIN
  SELECT RAISE(ABORT, 'rows of outline are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tail_never_changed BEFORE UPDATE ON tail BEGIN
  SELECT RAISE(ABORT, 'rows of tail are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER mapping_never_changed BEFORE UPDATE ON mapping BEGIN
  SELECT RAISE(ABORT, 'rows of mapping are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER log_profile_never_changed BEFORE UPDATE ON log_profile BEGIN
  SELECT RAISE(ABORT, 'rows of log_profile are never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER trace_never_deleted BEFORE DELETE ON trace BEGIN
  SELECT RAISE(ABORT, 'rows of trace are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER trace_end_never_deleted BEFORE DELETE ON trace_end BEGIN
  SELECT RAISE(ABORT, 'rows of trace_end are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER series_never_deleted BEFORE DELETE ON series BEGIN
  SELECT RAISE(ABORT, 'rows of series are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER mapping_never_deleted BEFORE DELETE ON mapping BEGIN
  SELECT RAISE(ABORT, 'rows of mapping are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER log_profile_never_deleted BEFORE DELETE ON log_profile BEGIN
  SELECT RAISE(ABORT, 'rows of log_profile are never deleted');
END;
-- +goose StatementEnd

-- Samples may go only with a record that was given up, and those of a tail once a chunk holds them.
-- +goose StatementBegin
CREATE TRIGGER chunk_never_deleted BEFORE DELETE ON chunk WHEN NOT EXISTS (SELECT 1 FROM series s JOIN trace_end e ON e.trace = s.trace WHERE s.id = OLD.series AND e.outcome = 'abandoned') BEGIN
  SELECT RAISE(ABORT, 'rows of chunk are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outline_never_deleted BEFORE DELETE ON outline WHEN NOT EXISTS (SELECT 1 FROM series s JOIN trace_end e ON e.trace = s.trace WHERE s.id = OLD.series AND e.outcome = 'abandoned') BEGIN
  SELECT RAISE(ABORT, 'rows of outline are never deleted');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tail_never_deleted BEFORE DELETE ON tail
WHEN NOT EXISTS (SELECT 1 FROM series s JOIN trace_end e ON e.trace = s.trace WHERE s.id = OLD.series AND e.outcome = 'abandoned')
 AND OLD.first + OLD.samples > (SELECT coalesce(max(seq) + 1, 0) * 65536 FROM chunk WHERE series = OLD.series) BEGIN
  SELECT RAISE(ABORT, 'rows of tail are never deleted');
END;
-- +goose StatementEnd
