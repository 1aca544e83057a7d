package notebook

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"railtally/internal/trace/logfile"
)

// rememberProfile keeps how a kind of log was read and what its channels were, unless that is known.
func (nb *Notebook) rememberProfile(ctx context.Context, p *logfile.Profile, roles map[string]ChannelRole) error {
	body, err := json.Marshal(p)
	if err != nil {
		return err
	}
	if roles == nil {
		roles = map[string]ChannelRole{}
	}
	channels, err := json.Marshal(roles)
	if err != nil {
		return err
	}
	kind := p.Fingerprint()
	return nb.write(ctx, "remember the profile", func(t *tx) error {
		was, were, err := lastProfile(t, kind)
		if err != nil || was == string(body) && were == string(channels) {
			return err
		}
		_, err = t.add("log_profile", []string{"fingerprint", "body", "channels", "accepted_at"},
			[]any{kind, string(body), string(channels), writeStamp(t.now)})
		return err
	})
}

func lastProfile(q querier, kind string) (body, channels string, err error) {
	err = q.row("SELECT body, channels FROM log_profile WHERE fingerprint = ? ORDER BY id DESC LIMIT 1", kind).Scan(&body, &channels)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return body, channels, err
}

// Recall gives a detected profile what was settled for the last log of its kind, and returns what its
// channels were. It reports false, and changes nothing, when there was none.
func (nb *Notebook) Recall(ctx context.Context, p *logfile.Profile) (roles map[string]ChannelRole, known bool, err error) {
	err = nb.read(ctx, "read the profile", func(q querier) error {
		body, channels, err := lastProfile(q, p.Fingerprint())
		if err != nil || body == "" {
			return err
		}
		var kept logfile.Profile
		if err := errors.Join(json.Unmarshal([]byte(body), &kept), json.Unmarshal([]byte(channels), &roles)); err != nil {
			return damaged("the remembered profile", err)
		}
		known = p.Adopt(&kept)
		return nil
	})
	return roles, known, err
}
