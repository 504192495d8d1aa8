package simulator

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"samelift/internal/chat"
)

// entryView is one message as the page gets it. The page puts it at place N of its
// chat, over what it had there, so that getting it twice does no harm.
type entryView struct {
	seq     int64
	Chat    string          `json:"chat"`
	Ref     string          `json:"ref"`
	N       int64           `json:"n"`
	Own     bool            `json:"own,omitempty"`
	Day     string          `json:"day"`
	Time    string          `json:"time"`
	Lang    string          `json:"lang,omitempty"`
	Dir     string          `json:"dir,omitempty"`
	Body    []paragraphView `json:"body,omitempty"`
	Choices [][]choiceView  `json:"choices,omitempty"`
	Picture *pictureView    `json:"picture,omitempty"`
	Text    string          `json:"text,omitempty"`
	Pressed bool            `json:"pressed,omitempty"`
	// Gone takes away what the page had at this place.
	Gone bool `json:"gone,omitempty"`
	// Chosen is what was pressed on this message before it was edited.
	Chosen  string `json:"chosen,omitempty"`
	File    string `json:"file,omitempty"`
	Size    int    `json:"size,omitempty"`
	Waiting bool   `json:"waiting,omitempty"`
}

type paragraphView struct {
	Style chat.Style `json:"style,omitempty"`
	Text  string     `json:"text"`
	Lang  string     `json:"lang,omitempty"`
	Dir   string     `json:"dir,omitempty"`
}

type choiceView struct {
	Label string `json:"label"`
	Data  string `json:"data,omitempty"`
	URL   string `json:"url,omitempty"`
}

type pictureView struct {
	Src string `json:"src"`
	Alt string `json:"alt"`
	// Width and Height keep its place free while it comes.
	Width  int `json:"width,omitempty"`
	Height int `json:"height,omitempty"`
}

// serveEvents streams what changes: first all that came after the Last-Event-ID, or
// everything, then each change as it comes. A page thus loses nothing while it is
// away, as long as it is in the history.
func (s *Simulator) serveEvents(w http.ResponseWriter, r *http.Request) {
	after, resumed := s.eventID(r.Header.Get("Last-Event-ID"))
	woken := make(chan struct{}, 1)
	s.mu.Lock()
	full := len(s.streams) >= maxStreams
	if !full {
		s.streams[woken] = true
	}
	s.mu.Unlock()
	if full {
		http.Error(w, "too many pages are open", http.StatusServiceUnavailable)
		return
	}
	defer func() {
		s.mu.Lock()
		delete(s.streams, woken)
		s.mu.Unlock()
	}()

	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	rc := http.NewResponseController(w)
	beat := time.NewTicker(s.cfg.Heartbeat)
	defer beat.Stop()

	var b bytes.Buffer
	fmt.Fprint(&b, "retry: 1000\n")
	event(&b, "hello", "", map[string]bool{"fresh": !resumed})
	var seats, clock []byte
	for {
		// Seats before messages: a message may be the first of a phone just joined.
		seats = changed(&b, "seats", seats, s.seatsView())
		for _, v := range s.since(after) {
			event(&b, "message", s.epoch+"-"+strconv.FormatInt(v.seq, 10), v)
			after = v.seq
		}
		clock = changed(&b, "clock", clock, s.clockView())
		if b.Len() > 0 {
			// A reader that takes nothing is let go of; it comes back with its last id.
			// Writers without deadlines are fine too.
			_ = rc.SetWriteDeadline(time.Now().Add(20 * time.Second))
			if _, err := w.Write(b.Bytes()); err != nil {
				return
			}
			if err := rc.Flush(); err != nil {
				return
			}
			b.Reset()
		}
		select {
		case <-r.Context().Done():
			return
		case <-s.closed:
			return
		case <-woken:
		case <-beat.C:
			b.WriteString(":\n\n")
		}
	}
}

// eventID reads the id of the last event that a page got from this very process.
func (s *Simulator) eventID(id string) (int64, bool) {
	epoch, n, ok := strings.Cut(id, "-")
	seq, err := strconv.ParseInt(n, 10, 64)
	if !ok || err != nil || epoch != s.epoch || seq < 0 {
		return 0, false
	}
	return seq, true
}

func event(b *bytes.Buffer, name, id string, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		// Views hold strings, numbers and slices of them only.
		panic(err)
	}
	if id != "" {
		fmt.Fprintf(b, "id: %s\n", id)
	}
	fmt.Fprintf(b, "event: %s\ndata: %s\n\n", name, data)
}

// changed writes v if it is not what was written last.
func changed(b *bytes.Buffer, name string, last []byte, v any) []byte {
	data, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	if !bytes.Equal(data, last) {
		event(b, name, "", json.RawMessage(data))
	}
	return data
}

// since gives what changed after a change, in the order of the changes.
func (s *Simulator) since(after int64) []entryView {
	zone := s.cfg.Zone()
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []entryView
	if s.seq == after {
		return nil
	}
	for _, c := range s.chats {
		for _, e := range c.entries {
			if e.seq > after {
				out = append(out, e.view(zone))
			}
		}
	}
	slices.SortFunc(out, func(a, b entryView) int { return int(a.seq - b.seq) })
	return out
}

func (e *entry) view(zone *time.Location) entryView {
	at := e.at.In(zone)
	v := entryView{
		seq: e.seq, Chat: e.chat, Ref: e.ref, N: e.n, Own: e.own,
		Day: at.Format("2006-01-02"), Time: at.Format("15:04"),
		Text: e.text, Pressed: e.pressed, Gone: e.gone, Chosen: e.chosen, File: e.file, Size: e.size, Waiting: e.waiting,
	}
	if !e.own && e.lang != "" {
		v.Lang, v.Dir = e.lang, direction(e.rtl)
	}
	for _, p := range e.body {
		pv := paragraphView{Style: p.Style, Text: p.Text, Lang: p.Lang}
		if p.Lang != "" || p.RTL {
			pv.Dir = direction(p.RTL)
		}
		v.Body = append(v.Body, pv)
	}
	for _, row := range e.choices {
		var rv []choiceView
		for _, c := range row {
			rv = append(rv, choiceView{c.Label, c.Data, c.URL})
		}
		v.Choices = append(v.Choices, rv)
	}
	if e.picture != nil {
		v.Picture = &pictureView{Src: fmt.Sprintf("picture/%s?v=%d", e.ref, e.seq), Alt: e.picture.Alt}
		if c, err := png.DecodeConfig(bytes.NewReader(e.picture.PNG)); err == nil {
			v.Picture.Width, v.Picture.Height = c.Width, c.Height
		}
	}
	return v
}
