package web

import (
	"net/http/httptest"
	"testing"
	"time"
)

// The open stream of a device ends as it is sent away; another's goes on.
func TestRevokedStreamEnds(t *testing.T) {
	nb := newNotebook(t)
	s, _ := lanServer(t, nb)
	id := importExample(t, nb)
	stream := func(name string) <-chan struct{} {
		w := send1(s, from("192.0.2.7", "POST", "/pair", pairBody(codeNow(t, s), name)))
		r := from("192.0.2.7", "GET", at("studies", id, "events"), "", w.Result().Cookies()[0]).WithContext(t.Context())
		ended := make(chan struct{})
		go func() {
			defer close(ended)
			s.ServeHTTP(httptest.NewRecorder(), r)
		}()
		return ended
	}
	phone, tablet := stream("phone"), stream("tablet")
	devices, err := nb.Devices(t.Context()) // the newest first
	if err != nil || len(devices) != 2 {
		t.Fatalf("%d devices, %v", len(devices), err)
	}
	send1(s, request("POST", at("devices", devices[1].ID, "revoke"), "x=1"))
	select {
	case <-phone:
	case <-time.After(heartbeat / 2):
		t.Error("the stream of a device that was sent away is open")
	}
	select {
	case <-tablet:
		t.Error("the other device's stream ended")
	default:
	}
}

// Who asks for a pairing is known by address, those of one IPv6 network as one.
func TestAddressOf(t *testing.T) {
	for remote, want := range map[string]string{
		"192.0.2.7:40000": "192.0.2.7", "[::ffff:192.0.2.7]:4": "192.0.2.7",
		"[2001:db8:1:2:3:4:5:6]:4": "2001:db8:1:2::/64", "[fe80::1%eth0]:4": "fe80::/64", "nobody": "nobody",
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = remote
		if got := addressOf(r); got != want {
			t.Errorf("%s counts as %s, want %s", remote, got, want)
		}
	}
}
