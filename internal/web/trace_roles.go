package web

import (
	"encoding/json"
	"fmt"
	"net/http"

	"railtally/internal/notebook"
)

// roleValue writes a role as the value of an option; roleFrom reads it.
func roleValue(r notebook.ChannelRole) string {
	r.Channel = 0
	b, _ := json.Marshal(r) // texts can always be written
	return string(b)
}

func roleFrom(text string) (r notebook.ChannelRole, ok bool) {
	return r, text != "" && json.Unmarshal([]byte(text), &r) == nil
}

// rolesIn reads what a form says of channels, from the fields is.0, is.1 and so on.
func rolesIn(f *form, o *opened, channels []notebook.Channel) (out []notebook.ChannelRole) {
	taken := map[string]int{}
	for i, c := range channels {
		name := fmt.Sprintf("is.%d", i)
		r, ok := roleFrom(f.Raw(name))
		if !ok {
			continue
		}
		if err := notebook.CheckRole(o.Record.Study, c, r); err != nil {
			f.Fault(name, err.Error(), "")
			continue
		}
		if k, twice := taken[roleValue(r)]; twice {
			f.Fault(name, fmt.Sprintf("%s is the %s already", channels[k].Name, r), "")
			continue
		}
		taken[roleValue(r)] = i
		r.Channel = i
		out = append(out, r)
	}
	return out
}

// roleFields are the fields that say what the channels of a trace are.
func roleFields(f *form, o *opened, x *notebook.Trace) (out []field) {
	for i, c := range x.Channels {
		now, known := x.Mapping.Role(i)
		fd := field{Name: fmt.Sprintf("is.%d", i), Label: c.Name, Kind: "select", Options: roleOptions(o, c.Unit, now, known)}
		if u := c.Unit.Symbol(); u != "" {
			fd.Label += ", " + u
		}
		fd.Fault = f.fault(fd.Name)
		out = append(out, fd)
	}
	return out
}

// mapTrace says anew what the channels of a trace are, and what it is called.
func (s *Server) mapTrace(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	o, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	roles := rolesIn(f, o, x.Channels)
	name := f.Text("name", true)
	if !f.OK() {
		return s.tracePage(w, r, o, x, f, http.StatusUnprocessableEntity)
	}
	if _, err := s.nb.MapTrace(r.Context(), x.Mapping.ID, name, f.Text("note", false), roles, s.origin(r, "")); err != nil {
		return err
	}
	flash(w, "Kept what the channels are.")
	return seeOther(w, r, at("studies", o.ID, "traces", x.ID))
}
