package cli

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/simulator"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// Demo shows the whole job on a page.
type Demo struct {
	Addr string `default:"127.0.0.1:8742" help:"Where the page is served."`
	DB   string `name:"db" help:"Keep the demo in this file; without it a new one is made and thrown away." placeholder:"FILE"`
}

// newcomer is the member of the demo team who has not joined yet, so that joining can
// be tried too.
const newcomer = "priya"

// newPhones is how many phones without an owner the page offers.
const newPhones = 2

// Run serves the demo until it is told to stop.
func (c *Demo) Run(e *Env) error {
	path := c.DB
	if path == "" {
		dir, err := os.MkdirTemp("", "samelift-demo-")
		if err != nil {
			return fmt.Errorf("make a place for the demo's database: %w", err)
		}
		defer os.RemoveAll(dir)
		path = filepath.Join(dir, "demo.db")
	}
	d := &demo{env: e}
	page := simulator.New(simulator.Config{
		Seats:     d.seats,
		Words:     d.pageWords,
		Langs:     demoLangs(),
		Now:       d.now,
		Advance:   d.advance,
		NextShift: d.nextShift,
		Zone:      func() *time.Location { return d.site().Location() },
		Stamp:     d.stamp,
		Controls:  []simulator.Control{{ID: "publish", WordKey: "demo.publish", Do: d.publish}},
		Logger:    e.log,
	})
	h, err := e.build(path, d.now, page)
	if err != nil {
		return err
	}
	defer h.store.Close()
	d.house, d.page = h, page
	if err := d.begin(); err != nil {
		return err
	}
	listener, err := net.Listen("tcp", c.Addr)
	if err != nil {
		return fmt.Errorf("serve the page: %w: choose another place with --addr 127.0.0.1:0", err)
	}
	server := &http.Server{Handler: page, ReadHeaderTimeout: 10 * time.Second}
	serving := func(ctx context.Context) error {
		stopped := make(chan error, 1)
		go func() { stopped <- server.Serve(listener) }()
		select {
		case <-ctx.Done():
			page.Close()
			end, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
			defer cancel()
			return server.Shutdown(end)
		case err := <-stopped:
			return err
		}
	}
	fmt.Fprintf(e.stdout, "The demo is at http://%s/\nEverybody in it is invented. Stop it with Ctrl-C.\n", listener.Addr())
	return h.serve(e.ctx, page, serving)
}

// demo is the running demo.
type demo struct {
	env   *Env
	house *house
	page  *simulator.Simulator
	ref   string
	// ahead is how far the demo's clock is ahead of the real one.
	ahead atomic.Int64
}

func (d *demo) now() time.Time { return d.env.now().Add(time.Duration(d.ahead.Load())) }

// begin imports the invented site and lets its team join, all but the newcomer.
func (d *demo) begin() error {
	site, faults := sitefile.Read(sitefile.Demo(d.now()), d.house.bot.Known(nil))
	if len(faults) > 0 {
		return fmt.Errorf("the demo's own site file: %w", faults[0])
	}
	d.ref = site.Ref
	known := false
	err := d.house.store.View(d.env.ctx, d.now(), func(tx *store.Tx) error {
		have, err := tx.Site(site.Ref)
		known = have != nil
		return err
	})
	if err != nil || known {
		return err
	}
	if _, err := d.house.bot.Import(d.env.ctx, site); err != nil {
		return err
	}
	return d.house.store.Update(d.env.ctx, d.now(), func(tx *store.Tx) error {
		for _, p := range site.People {
			if p.Ref == newcomer || p.Removed {
				continue
			}
			if err := tx.Join(site.Ref, p.Ref, seatOf(p.Ref), p.Lang); err != nil {
				return err
			}
		}
		return nil
	})
}

func seatOf(ref string) chat.Address { return chat.Address{Transport: simulator.Name, Chat: ref} }

// site gives the demo's site as it is now.
func (d *demo) site() *care.Site {
	var site *care.Site
	err := d.house.store.View(d.env.ctx, d.now(), func(tx *store.Tx) error {
		var err error
		site, err = tx.Site(d.ref)
		return err
	})
	if err != nil || site == nil {
		if err != nil && d.env.ctx.Err() == nil {
			d.env.log.Error("read the demo's site", "error", err)
		}
		return &care.Site{}
	}
	return site
}

// seats lists the phones: those of the team, and new ones.
func (d *demo) seats() []simulator.Seat {
	var seats []simulator.Seat
	site := d.site()
	at := map[string]care.Person{}
	err := d.house.store.View(d.env.ctx, d.now(), func(tx *store.Tx) error {
		for _, p := range site.People {
			if a, ok, err := tx.Address(site.Ref, p.Ref); err != nil {
				return err
			} else if ok && a.Transport == simulator.Name {
				at[a.Chat] = p
			}
		}
		return nil
	})
	if err != nil {
		d.env.log.Error("read the demo's phones", "error", err)
	}
	seat := func(chatID string) {
		// A phone whose owner has chosen no language has the page's.
		s := simulator.Seat{Chat: chatID, Role: simulator.RoleNew}
		if p, ok := at[chatID]; ok {
			s.Name, s.Lang, s.Role = p.Name, p.Lang, string(p.Role)
		} else if p, ok := site.Person(chatID); ok {
			s.Name, s.Lang = p.Name, p.Lang
		}
		s.RTL = locale.RTL(s.Lang)
		seats = append(seats, s)
	}
	// The first three stand side by side when the page opens.
	for _, ref := range []string{"magda", "youssef", "elena"} {
		seat(ref)
	}
	for _, p := range site.People {
		if p.Ref != newcomer && p.Ref != "magda" && p.Ref != "youssef" && p.Ref != "elena" {
			seat(p.Ref)
		}
	}
	for i := 1; i <= newPhones; i++ {
		seat("new-" + strconv.Itoa(i))
	}
	return seats
}

// advance moves the demo's clock and does what is due by then, step by step, so that
// what happens on the way happens at its own time.
func (d *demo) advance(ctx context.Context, by time.Duration) error {
	end := d.now().Add(by)
	for {
		var next time.Time
		var planned bool
		err := d.house.store.View(ctx, d.now(), func(tx *store.Tx) error {
			var err error
			next, planned, err = tx.NextWake()
			return err
		})
		if err != nil {
			return err
		}
		if !planned || next.After(end) {
			break
		}
		d.to(next)
		if err := d.house.schedule.Pass(ctx); err != nil {
			return err
		}
	}
	d.to(end)
	return d.house.schedule.Pass(ctx)
}

// to sets the clock on, never back.
func (d *demo) to(t time.Time) {
	if by := t.Sub(d.now()); by > 0 {
		d.ahead.Add(int64(by))
	}
}

// nextShift gives when the next handover is due: the moment worth moving to.
func (d *demo) nextShift() time.Time {
	var first time.Time
	site := d.site()
	for _, s := range site.Shifts {
		// A handover that has been sent does not come again for the same start.
		at := s.NextStart(d.now().Add(site.HandoverLead), site.Location()).Add(-site.HandoverLead)
		if first.IsZero() || at.Before(first) {
			first = at
		}
	}
	return first
}

// publish takes in the second version of one plan, by the way every import goes.
func (d *demo) publish(ctx context.Context) error {
	site, faults := sitefile.Read(sitefile.DemoChange(d.now()), d.house.bot.Known(d.site()))
	if len(faults) > 0 {
		return faults[0]
	}
	_, err := d.house.bot.Import(ctx, site)
	var stale *store.StalePlanError
	if errors.As(err, &stale) {
		return nil // it was published before
	}
	return err
}

func demoLangs() []simulator.Lang {
	words, err := locale.Load()
	if err != nil {
		return nil // building the house reports it
	}
	var out []simulator.Lang
	for _, l := range words.Languages() {
		out = append(out, simulator.Lang{Code: l.Code, Autonym: l.Autonym, RTL: l.RTL})
	}
	return out
}

func (d *demo) pageWords(lang string) simulator.Words {
	p := d.house.words.Printer(lang, time.UTC)
	w := simulator.Words{}
	for _, key := range append([]string{"demo.publish"}, simulator.WordKeys...) {
		w[key], _ = p.Say(key, nil) // a key without words is found by the test of the locales
	}
	return w
}

func (d *demo) stamp(lang string, t time.Time) string {
	s, err := d.house.words.Printer(lang, d.site().Location()).Time(t)
	if err != nil {
		return t.Format(time.DateTime)
	}
	return s
}
