package simulator

import (
	"mime"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
)

// ServeHTTP serves the page, its files, its stream of messages and what its buttons
// ask for. It may stand behind http.StripPrefix: the page's own links are relative.
func (s *Simulator) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "+
		"connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	// What is on the page names people, and must not stay in a cache.
	h.Set("Cache-Control", "no-store")
	if !s.hostAllowed(r.Host) {
		http.Error(w, "unknown host", http.StatusMisdirectedRequest)
		return
	}
	if r.Method == http.MethodPost {
		if !sameOrigin(r) {
			http.Error(w, "only the page itself may ask for this", http.StatusForbidden)
			return
		}
		if t, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || t != "application/json" {
			http.Error(w, "JSON only", http.StatusUnsupportedMediaType)
			return
		}
	}
	s.mux.ServeHTTP(w, r)
}

// hostAllowed refuses names that some other site's DNS may have pointed at us.
func (s *Simulator) hostAllowed(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.ToLower(strings.Trim(host, "[]"))
	if host == "localhost" || slices.Contains(s.cfg.Hosts, host) {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// sameOrigin wants the Origin that every browser sends with a POST; a request
// without one is refused too.
func sameOrigin(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" {
		return false
	}
	u, err := url.Parse(r.Header.Get("Origin"))
	return err == nil && (u.Scheme == "http" || u.Scheme == "https") && strings.EqualFold(u.Host, r.Host)
}
