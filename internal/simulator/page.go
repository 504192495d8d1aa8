package simulator

import (
	"context"
	"embed"
	"encoding/json"
	"errors"
	"html/template"
	"io"
	"net/http"
	"path"
	"regexp"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/language"

	"samelift/internal/chat"
)

//go:embed page
var files embed.FS

var page = template.Must(template.ParseFS(files, "page/index.html"))

// MaxAdvance is the furthest that one press moves the clock.
const MaxAdvance = 31 * 24 * time.Hour

// maxPost lets a file of chat.MaxFile bytes through, as base64 in JSON.
const maxPost = chat.MaxFile/3*4 + 64<<10

// maxName is the most runes of a file's name that are passed on.
const maxName = 120

var clientID = regexp.MustCompile(`^[A-Za-z0-9_-]{8,64}$`)

func (s *Simulator) routes() *http.ServeMux {
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", s.servePage)
	for name, kind := range map[string]string{
		"page.css": "text/css", "page.js": "text/javascript", "phone.js": "text/javascript", "sheet.js": "text/javascript", "mark.svg": "image/svg+xml",
	} {
		m.HandleFunc("GET /"+name, func(w http.ResponseWriter, _ *http.Request) {
			b, err := files.ReadFile("page/" + name)
			if err != nil {
				http.Error(w, "missing", http.StatusNotFound)
				return
			}
			w.Header().Set("Content-Type", kind+"; charset=utf-8")
			w.Write(b)
		})
	}
	m.HandleFunc("GET /state", s.serveState)
	m.HandleFunc("GET /events", s.serveEvents)
	m.HandleFunc("GET /picture/{ref}", s.servePicture)
	m.HandleFunc("POST /say", s.serveSay)
	m.HandleFunc("POST /clock", s.serveClock)
	m.HandleFunc("POST /control", s.serveControl)
	return m
}

func (s *Simulator) servePage(w http.ResponseWriter, r *http.Request) {
	l := s.pageLang(r)
	words := s.cfg.Words(l.Code)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Language", l.Code)
	err := page.Execute(w, map[string]any{
		"Lang": l.Code, "Dir": direction(l.RTL), "Word": func(key string) string { return words.word(key) },
	})
	if err != nil {
		s.cfg.Logger.Error("write the demo page", "error", err)
	}
}

// word falls back to the key, so that a missing word is seen and reported.
func (w Words) word(key string) string {
	if v := w[key]; v != "" {
		return v
	}
	return key
}

func direction(rtl bool) string {
	if rtl {
		return "rtl"
	}
	return "ltr"
}

// pageLang is the language asked for in the address, else the browser's best, else
// the first.
func (s *Simulator) pageLang(r *http.Request) Lang {
	tags := make([]language.Tag, len(s.cfg.Langs))
	for i, l := range s.cfg.Langs {
		tags[i] = language.Make(l.Code)
		if l.Code == r.URL.Query().Get("lang") {
			return l
		}
	}
	if len(tags) == 0 {
		return Lang{Code: "en"}
	}
	// A broken header is as good as none.
	want, _, _ := language.ParseAcceptLanguage(r.Header.Get("Accept-Language"))
	_, i, _ := language.NewMatcher(tags).Match(want...)
	return s.cfg.Langs[i]
}

// stateView is what the page must know before it can show anything.
type stateView struct {
	Langs    []langView       `json:"langs"`
	Words    map[string]Words `json:"words"`
	Seats    []seatView       `json:"seats"`
	Clock    clockView        `json:"clock"`
	Controls []controlView    `json:"controls"`
	MaxFile  int              `json:"maxFile"`
	MaxText  int              `json:"maxText"`
	History  int              `json:"history"`
}

type langView struct {
	Code    string `json:"code"`
	Autonym string `json:"autonym"`
	Dir     string `json:"dir"`
}

type seatView struct {
	Chat string `json:"chat"`
	Name string `json:"name"`
	Lang string `json:"lang"`
	Dir  string `json:"dir"`
	Role string `json:"role"`
}

type controlView struct {
	ID   string `json:"id"`
	Word string `json:"word"`
}

// clockView holds the site's time as each language writes it.
type clockView struct {
	At     string            `json:"at"`
	Stamps map[string]string `json:"stamps"`
	Moves  bool              `json:"moves"`
	// Shift is the time of day of the next change of shift, or empty.
	Shift string `json:"shift"`
}

func (s *Simulator) serveState(w http.ResponseWriter, _ *http.Request) {
	v := stateView{
		Words: map[string]Words{}, Seats: s.seatsView(), Clock: s.clockView(),
		Controls: []controlView{}, MaxFile: chat.MaxFile, MaxText: chat.MaxText, History: maxHistory,
	}
	for _, l := range s.cfg.Langs {
		v.Langs = append(v.Langs, langView{l.Code, l.Autonym, direction(l.RTL)})
		v.Words[l.Code] = s.cfg.Words(l.Code)
	}
	for _, c := range s.cfg.Controls {
		v.Controls = append(v.Controls, controlView{c.ID, c.WordKey})
	}
	w.Header().Set("Content-Type", "application/json")
	json.NewEncoder(w).Encode(v)
}

func (s *Simulator) seatsView() []seatView {
	out := []seatView{}
	for _, seat := range s.cfg.Seats() {
		out = append(out, seatView{seat.Chat, seat.Name, seat.Lang, direction(seat.RTL), seat.Role})
	}
	return out
}

func (s *Simulator) clockView() clockView {
	zone := s.cfg.Zone()
	now := s.cfg.Now().In(zone)
	v := clockView{At: now.Format("2006-01-02T15:04Z07:00"), Stamps: map[string]string{}, Moves: s.cfg.Advance != nil}
	for _, l := range s.cfg.Langs {
		v.Stamps[l.Code] = s.cfg.Stamp(l.Code, now)
	}
	if t := s.cfg.NextShift(); t.After(now) && t.Sub(now) <= MaxAdvance {
		v.Shift = t.In(zone).Format("15:04")
	}
	return v
}

func (s *Simulator) servePicture(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	e := s.byRef[r.PathValue("ref")]
	var png []byte
	if e != nil && e.picture != nil {
		png = e.picture.PNG
	}
	s.mu.Unlock()
	if png == nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", "image/png")
	w.Write(png)
}

// said is what a phone posts.
type said struct {
	Chat string `json:"chat"`
	// ID is the page's own for this message: posted twice, it counts once.
	ID string `json:"id"`
	// Lang is the page's language, which a phone has that has none of its own.
	Lang    string `json:"lang"`
	Kind    string `json:"kind"`
	Text    string `json:"text"`
	Choice  string `json:"choice"`
	Message string `json:"message"`
	Name    string `json:"name"`
	Data    []byte `json:"data"`
}

func (s *Simulator) serveSay(w http.ResponseWriter, r *http.Request) {
	var p said
	if !read(w, r, maxPost, &p) {
		return
	}
	if !clientID.MatchString(p.ID) {
		http.Error(w, "a message needs an id", http.StatusBadRequest)
		return
	}
	in := chat.Inbound{ID: p.Chat + ":" + p.ID, From: chat.Address{Chat: p.Chat}, Kind: chat.Kind(p.Kind)}
	for _, l := range s.cfg.Langs {
		if l.Code == p.Lang {
			in.Lang = l.Code
		}
	}
	var e entry
	switch in.Kind {
	case chat.KindText:
		in.Text = cut(p.Text, chat.MaxText)
		e.text = in.Text
		if strings.TrimSpace(in.Text) == "" {
			http.Error(w, "nothing was written", http.StatusBadRequest)
			return
		}
	case chat.KindChoice:
		if !opaque(p.Choice) || len(p.Message) > chat.MaxData {
			http.Error(w, "not a choice", http.StatusBadRequest)
			return
		}
		in.Choice, in.Message = p.Choice, p.Message
	case chat.KindFile:
		e.file, e.size = fileName(p.Name), len(p.Data)
		if e.size > chat.MaxFile {
			in.Kind = chat.KindOther
			break
		}
		in.File = &chat.File{Name: e.file, Data: p.Data}
	case chat.KindOther:
		// The page sends so a file of which it knows that it is too large.
		e.file = fileName(p.Name)
	default:
		http.Error(w, "unknown kind", http.StatusBadRequest)
		return
	}
	switch err := s.accept(in, e); {
	case errors.Is(err, errNoSeat):
		http.Error(w, "no such phone", http.StatusNotFound)
	case errors.Is(err, errFull):
		http.Error(w, "too many messages wait", http.StatusTooManyRequests)
	default:
		w.WriteHeader(http.StatusAccepted)
	}
}

func (s *Simulator) serveClock(w http.ResponseWriter, r *http.Request) {
	var p struct {
		Minutes int  `json:"minutes"`
		Shift   bool `json:"shift"`
	}
	if !read(w, r, 1<<10, &p) {
		return
	}
	if s.cfg.Advance == nil {
		http.Error(w, "this clock cannot be moved", http.StatusNotFound)
		return
	}
	s.work(w, r, func(ctx context.Context) (int, error) {
		var d time.Duration
		switch {
		case p.Shift:
			d = s.cfg.NextShift().Sub(s.cfg.Now())
		case p.Minutes > 0 && p.Minutes <= int(MaxAdvance/time.Minute):
			d = time.Duration(p.Minutes) * time.Minute
		}
		// Time never goes back: what was sent and noted would be in the future.
		if d <= 0 || d > MaxAdvance {
			return http.StatusBadRequest, nil
		}
		return 0, s.cfg.Advance(ctx, d)
	})
}

func (s *Simulator) serveControl(w http.ResponseWriter, r *http.Request) {
	var p struct {
		ID string `json:"id"`
	}
	if !read(w, r, 1<<10, &p) {
		return
	}
	for _, c := range s.cfg.Controls {
		if c.ID == p.ID {
			s.work(w, r, func(ctx context.Context) (int, error) { return 0, c.Do(ctx) })
			return
		}
	}
	http.Error(w, "no such control", http.StatusNotFound)
}

// work does one thing to the demo at a time, to its end even if the page is closed
// meanwhile.
func (s *Simulator) work(w http.ResponseWriter, r *http.Request, do func(context.Context) (int, error)) {
	s.moving.Lock()
	defer s.moving.Unlock()
	ctx, cancel := context.WithTimeout(context.WithoutCancel(r.Context()), time.Minute)
	defer cancel()
	status, err := do(ctx)
	s.Changed()
	switch {
	case err != nil:
		s.cfg.Logger.Error("do what the demo page asked for", "error", err)
		http.Error(w, "that did not work", http.StatusInternalServerError)
	case status != 0:
		http.Error(w, "not possible", status)
	default:
		w.WriteHeader(http.StatusNoContent)
	}
}

// read takes one JSON value of at most limit bytes, and answers for itself if it
// cannot.
func read(w http.ResponseWriter, r *http.Request, limit int64, v any) bool {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, limit))
	d.DisallowUnknownFields()
	err := d.Decode(v)
	if err == nil {
		if _, err = d.Token(); err == io.EOF {
			return true
		}
	}
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		http.Error(w, "too large", http.StatusRequestEntityTooLarge)
	} else {
		http.Error(w, "not understood", http.StatusBadRequest)
	}
	return false
}

// cut keeps the first n runes.
func cut(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i]
		}
		n--
	}
	return s
}

// opaque reports whether s can be the data of a choice.
func opaque(s string) bool {
	for _, r := range s {
		if r < 0x20 || r > 0x7E {
			return false
		}
	}
	return s != "" && len(s) <= chat.MaxData
}

// fileName keeps the last element of a name, without controls.
func fileName(s string) string {
	s = path.Base(strings.ReplaceAll(s, `\`, "/"))
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return -1
		}
		return r
	}, s)
	return cut(s, maxName)
}
