package bot

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"regexp"

	"samelift/internal/care"
	"samelift/internal/dialog"
	"samelift/internal/store"
)

// wakeExaminations is the daily look at the dates of the examinations; its key is empty.
const wakeExaminations = "examinations"

// examinationsAt is when the coordinators are told, by the site's clock on the wall: at
// the start of an ordinary day. Our own choice.
const examinationsAt = care.Clock(8 * 60)

// An examinationsWake says for which day a wake is, and on which day the coordinators
// were told last. Without a day it only plans the next.
type examinationsWake struct {
	Day  care.Date `json:"day"`
	Told care.Date `json:"told"`
}

// planExaminations plans the next daily look, if none is planned.
func (b *Bot) planExaminations(tx *store.Tx, site *care.Site) error {
	w, err := nextExaminations(tx, site, care.Date{})
	if err != nil {
		return err
	}
	return tx.KeepWake(w)
}

// nextExaminations is the wake at the next such time after now.
func nextExaminations(tx *store.Tx, site *care.Site, told care.Date) (store.Wake, error) {
	zone := site.Location()
	day := care.DateOf(tx.Now.In(zone))
	if !examinationsAt.On(day, zone).After(tx.Now) {
		day = day.AddDays(1)
	}
	if told.IsZero() {
		told = day.AddDays(-1)
	}
	body, err := json.Marshal(examinationsWake{Day: day, Told: told})
	return store.Wake{Site: site.Ref, Kind: wakeExaminations, Due: examinationsAt.On(day, zone), Body: string(body)}, err
}

// examinations tells every coordinator, once a day and in one message, which dates have
// come near and which are past.
func (b *Bot) examinations(tx *store.Tx, site *care.Site, revision int64, w store.Wake) error {
	var planned examinationsWake
	if err := json.Unmarshal([]byte(w.Body), &planned); err != nil {
		return fmt.Errorf("read the wake of the examinations: %w", err)
	}
	today := care.DateOf(tx.Now.In(site.Location()))
	// The site may have moved to another zone since: then its morning is still to come.
	early := tx.Now.Before(examinationsAt.On(today, site.Location()))
	told := planned.Told
	if !planned.Day.IsZero() && !early && told.Before(today) {
		for _, c := range site.Coordinators() {
			address, ok, err := tx.Address(site.Ref, c.Ref)
			if err != nil {
				return err
			}
			if !ok {
				continue
			}
			t := b.turnOf(tx, site, c, address, 0)
			t.revision = revision
			if said, any := dialog.Examinations(t.facts(b), told); any {
				if _, err := t.say(said); err != nil {
					return err
				}
			}
		}
		told = today
	}
	next, err := nextExaminations(tx, site, told)
	if err != nil {
		return err
	}
	return tx.SetWake(next)
}

// labelCode is how the code of a label looks, so that ordinary words are not looked up.
var labelCode = regexp.MustCompile(`^[A-Za-z0-9_-]{22}$`)

// label gives what was scanned, or whose code was typed. A code of another site is none.
func (b *Bot) label(tx *store.Tx, site *care.Site, e dialog.Event) (*care.Labelled, error) {
	code := e.Text
	if e.Command == "start" {
		code = e.Rest
	}
	if !labelCode.MatchString(code) {
		return nil, nil
	}
	l, ok, err := tx.Labelled(site.Ref, code)
	if err != nil || !ok {
		return nil, err
	}
	return &l, nil
}

// A Label is what is printed: a code and what it is stuck to.
type Label struct {
	care.Labelled
	Code string
}

// Labels gives the labels of a site's clients, slings and hoists, and makes the codes
// that have not been made yet.
func (b *Bot) Labels(ctx context.Context, site string) (s *care.Site, out []Label, err error) {
	err = b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error {
		if s, err = tx.Site(site); err != nil {
			return err
		}
		if s == nil {
			return fmt.Errorf("the database has no site %q", site)
		}
		var all []care.Labelled
		for _, c := range s.Clients {
			if !c.Ended {
				all = append(all, care.Labelled{Kind: care.ClientLabel, Ref: c.Ref})
			}
		}
		for _, x := range s.Slings {
			all = append(all, care.Labelled{Kind: care.SlingLabel, Ref: x.Label})
		}
		for _, h := range s.Hoists {
			all = append(all, care.Labelled{Kind: care.HoistLabel, Ref: h.Label})
		}
		for _, l := range all {
			code, ok, err := tx.LabelCode(site, l)
			if err != nil {
				return err
			}
			if !ok {
				raw := make([]byte, codeBytes)
				if _, err := io.ReadFull(b.Rand, raw); err != nil {
					return fmt.Errorf("make a code: %w", err)
				}
				code = base64.RawURLEncoding.EncodeToString(raw)
				if err := tx.KeepLabelCode(site, l, code); err != nil {
					return err
				}
			}
			out = append(out, Label{l, code})
		}
		return nil
	})
	return s, out, err
}
