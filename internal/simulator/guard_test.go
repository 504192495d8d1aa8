package simulator_test

import (
	"net/http"
	"testing"
)

func TestOtherSitesAreRefused(t *testing.T) {
	h := open(t)
	body := []byte(`{"chat":"oskar","id":"12345678","kind":"text","text":"x"}`)
	tests := []struct {
		name   string
		change func(*http.Request)
		want   int
	}{
		{"another origin", func(r *http.Request) { r.Header.Set("Origin", "https://example.org") }, 403},
		{"no origin", func(r *http.Request) { r.Header.Del("Origin") }, 403},
		{"a sandboxed origin", func(r *http.Request) { r.Header.Set("Origin", "null") }, 403},
		{"another port", func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:1") }, 403},
		{"a name that ends like ours", func(r *http.Request) { r.Header.Set("Origin", h.srv.URL+".example.org") }, 403},
		{"cross-site by the browser's word", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, 403},
		{"a form", func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") }, 415},
		{"no type", func(r *http.Request) { r.Header.Del("Content-Type") }, 415},
		{"a rebound name", func(r *http.Request) { r.Host = "evil.example"; r.Header.Set("Origin", "http://evil.example") }, 421},
		{"a name that begins like ours", func(r *http.Request) {
			r.Host = "localhost.example"
			r.Header.Set("Origin", "http://localhost.example")
		}, 421},
		{"localhost", func(r *http.Request) { r.Host = "localhost:80"; r.Header.Set("Origin", "http://localhost:80") }, 202},
		{"IPv6", func(r *http.Request) { r.Host = "[::1]:80"; r.Header.Set("Origin", "http://[::1]:80") }, 202},
	}
	for _, tt := range tests {
		if got := h.raw("/say", body, tt.change); got != tt.want {
			t.Errorf("%s: status %d, want %d", tt.name, got, tt.want)
		}
	}
	for _, path := range []string{"/", "/state", "/events"} {
		r, _ := http.NewRequest(http.MethodGet, h.srv.URL+path, nil)
		r.Host = "evil.example"
		resp, err := h.srv.Client().Do(r)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if resp.StatusCode != http.StatusMisdirectedRequest {
			t.Errorf("%s by a rebound name: status %d", path, resp.StatusCode)
		}
	}
}
