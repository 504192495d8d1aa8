package bot

import (
	"encoding/json"
	"fmt"
	"time"

	"samelift/internal/care"
	"samelift/internal/dialog"
	"samelift/internal/store"
)

// The kinds of wakes that the life of a plan needs.
const (
	wakeTell   = "tell"          // more people are to be told a change; the key is its id
	wakeRemind = "remind"        // those who have not confirmed are reminded; the key is the change's id, or that and a shift's name
	wakeForce  = "force"         // a version comes into force; the key is the change's id
	wakeBefore = "before"        // a shift starts in an hour; the key is its name
	wakePhone  = "phone"         // coordinators learn whom to phone; the key is a shift's name, or a change's id
	wakeReturn = "return"        // somebody can be reached again; the key is their ref
	wakeStale  = store.WakeStale // cards have to say that they are old; the key is the client's ref
)

const (
	// piece is how many people one transaction tells, so that no reply waits for it; the
	// transaction that publishes has more to do and tells fewer.
	piece, firstPiece = 100, 40
	// holders is how many people's old cards one transaction sees to, and lastCards how
	// many of each are edited.
	holders, lastCards = 25, 20
	// remindBefore and phoneBefore are how long before a shift its people are reminded,
	// and the coordinators told whom to phone. Common practice, no source.
	remindBefore, phoneBefore = time.Hour, 30 * time.Minute
	// Whoever has not confirmed an urgent change is reminded and then phoned this long
	// after it was told; any other where the site has no shifts to wait for.
	urgentRemind, urgentPhone = 15 * time.Minute, 30 * time.Minute
	idleRemind, idlePhone     = 4 * time.Hour, 5 * time.Hour
	// tooSoon is how long somebody who was just told is not reminded before a shift.
	tooSoon = 30 * time.Minute
)

// publish has a change told: the coordinators and the first people at once, the others
// in pieces, each in a transaction of its own. It plans what follows from it: the
// instant at which the version takes over, the old cards, reminders.
func (b *Bot) publish(tx *store.Tx, site *care.Site, revision int64, c care.Change, actor string) error {
	c, err := tx.OpenChange(site.Ref, c)
	if err != nil {
		return err
	}
	if err := b.tellMore(tx, site, revision, c, firstPiece); err != nil {
		return err
	}
	for _, to := range site.Coordinators() {
		if to.Ref == actor {
			continue // they have just done it
		}
		if err := b.tell(tx, site, revision, to, c); err != nil {
			return err
		}
	}
	later := c.From.After(tx.Now)
	if later {
		err = tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeForce, Key: c.ID, Due: c.From})
	} else {
		err = tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeStale, Key: c.Client, Due: tx.Now})
	}
	if err != nil {
		return err
	}
	switch {
	case c.Urgent:
		return b.chase(tx, site, c, tx.Now.Add(urgentRemind), tx.Now.Add(urgentPhone))
	case len(site.Shifts) == 0:
		return b.chase(tx, site, c, tx.Now.Add(idleRemind), tx.Now.Add(idlePhone))
	}
	return nil
}

// chase plans a reminder and a list of those who have not confirmed after it.
func (b *Bot) chase(tx *store.Tx, site *care.Site, c care.Change, remind, phone time.Time) error {
	if err := b.setRemind(tx, site, c.ID, remindWake{Change: c.ID, Since: remind}, remind); err != nil {
		return err
	}
	body, err := json.Marshal(phoneWake{Change: c.ID})
	if err != nil {
		return err
	}
	return tx.SetWake(store.Wake{Site: site.Ref, Kind: wakePhone, Key: c.ID, Due: phone, Body: string(body)})
}

// tellMore tells a change to the next people who have not been told.
func (b *Bot) tellMore(tx *store.Tx, site *care.Site, revision int64, c care.Change, most int) error {
	next, err := tx.Untold(site.Ref, c.ID, most)
	if err != nil {
		return err
	}
	if err := b.tellAll(tx, site, revision, c, next, nil); err != nil {
		return err
	}
	for _, l := range next {
		if err := tx.Told(site.Ref, c.ID, l.Person); err != nil {
			return err
		}
	}
	if len(next) < most {
		return nil
	}
	return tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeTell, Key: c.ID, Due: tx.Now})
}

// tellAll queues a change for several carers. Those who read one language and knew the
// same version read the same words, so these are made once.
func (b *Bot) tellAll(tx *store.Tx, site *care.Site, revision int64, c care.Change, to []store.Listener, as func(dialog.Say) dialog.Say) error {
	type words struct {
		lang string
		base int
		bare bool // without pictures
	}
	made := map[words][]store.Message{}
	for _, l := range to {
		p, _ := site.Person(l.Person)
		key := words{l.Lang, l.Base, p.NoPictures}
		parts, have := made[key]
		if !have {
			t := b.turnOf(tx, site, care.Person{Lang: l.Lang, Role: care.Carer, NoPictures: p.NoPictures}, l.At, 0)
			t.revision = revision
			out, ok := dialog.ChangeMessage(t.facts(b), care.Carer, c, l.Base)
			if t.records.err != nil {
				return t.records.err
			}
			if ok {
				if as != nil {
					out = as(out)
				}
				if len(to) >= firstPiece {
					// Nothing holds back what is an alert; for so many the messenger would stop
					// everything, replies too.
					out.Urgency = dialog.Change
				}
				var err error
				if parts, err = t.parts(l.Lang, out); err != nil {
					return err
				}
			}
			made[key] = parts
		}
		for _, m := range parts {
			m.Site, m.Person, m.Out.To = site.Ref, l.Person, l.At
			if _, err := tx.Enqueue(m); err != nil {
				return fmt.Errorf("queue a change: %w", err)
			}
		}
	}
	return nil
}

// A remindWake says whom to remind of a change: those after a person, told and reminded
// before an instant, and for a shift those who work it.
type remindWake struct {
	Change string    `json:"change"`
	Since  time.Time `json:"since"`
	After  string    `json:"after,omitempty"`
	Shift  string    `json:"shift,omitempty"`
	Start  time.Time `json:"start,omitzero"`
}

func (b *Bot) setRemind(tx *store.Tx, site *care.Site, key string, w remindWake, due time.Time) error {
	body, err := json.Marshal(w)
	if err != nil {
		return err
	}
	return tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeRemind, Key: key, Due: due, Body: string(body)})
}

// remind reminds the next people who have not confirmed a change.
func (b *Bot) remind(tx *store.Tx, site *care.Site, revision int64, w store.Wake) error {
	var rw remindWake
	if err := json.Unmarshal([]byte(w.Body), &rw); err != nil {
		return fmt.Errorf("read a reminder's wake: %w", err)
	}
	c, ok, err := tx.ChangeHead(site.Ref, rw.Change)
	if err != nil || !ok || c.Old {
		return err
	}
	next, err := tx.Unread(site.Ref, c.ID, rw.Since, rw.After, piece)
	if err != nil || len(next) == 0 {
		return err
	}
	more := len(next) == piece
	rw.After = next[len(next)-1].Person
	var shift *care.Shift
	if rw.Shift != "" {
		if s, ok := shiftOf(site, rw.Shift); ok {
			shift = &s
		}
		var on []store.Listener
		for _, l := range next {
			if p, ok := site.Person(l.Person); ok && p.Works(rw.Shift) {
				on = append(on, l)
			}
		}
		next = on
	}
	if err := b.tellAll(tx, site, revision, c, next, func(s dialog.Say) dialog.Say { return dialog.Remind(s, shift, rw.Start) }); err != nil {
		return err
	}
	for _, l := range next {
		if err := tx.Reminded(site.Ref, c.ID, l.Person); err != nil {
			return err
		}
	}
	if !more {
		return nil
	}
	return b.setRemind(tx, site, w.Key, rw, tx.Now)
}

// comesIntoForce does what is to be done at the instant at which a version takes over:
// the older tellings are old, the cards of the older version say so, and whoever has
// not confirmed is reminded.
func (b *Bot) comesIntoForce(tx *store.Tx, site *care.Site, w store.Wake) error {
	c, ok, err := tx.ChangeHead(site.Ref, w.Key)
	if err != nil || !ok || c.Old {
		return err
	}
	if err := tx.RetireChanges(site.Ref, c.Client); err != nil {
		return err
	}
	if err := tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeStale, Key: c.Client, Due: tx.Now}); err != nil {
		return err
	}
	return b.chase(tx, site, c, tx.Now, tx.Now.Add(urgentPhone))
}

// stale has the cards of a plan that is no longer in force say so.
func (b *Bot) stale(tx *store.Tx, site *care.Site, w store.Wake) error {
	client, ok := site.Client(w.Key)
	if !ok {
		return nil
	}
	upTo := 0
	switch current, ok := site.PlanOnRecord(client.Ref, tx.Now); {
	case client.Ended:
		upTo = 1 << 30
	case !ok:
		return nil
	case current.Stopped != nil:
		upTo = current.Stopped.UpTo
	default:
		upTo = current.Version - 1
	}
	at, err := tx.StaleHolders(site.Ref, client.Ref, upTo, holders)
	if err != nil {
		return err
	}
	type words struct {
		lang    string
		version int
		theirs  bool
	}
	made := map[words]store.Message{}
	for _, a := range at {
		cards, err := tx.TakeStale(site.Ref, client.Ref, upTo, a, lastCards)
		if err != nil {
			return err
		}
		if len(cards) == 0 {
			continue // nothing more goes to somebody who has left, nor to an old phone
		}
		who, _, err := tx.At(a)
		if err != nil {
			return err
		}
		p, _ := site.Person(who.Person)
		for _, card := range cards {
			if card.Hidden {
				continue
			}
			key := words{p.Lang, card.Version, p.MaySee(client.Ref)}
			m, have := made[key]
			if !have {
				t := b.turnOf(tx, site, p, a, 0)
				parts, err := t.parts(p.Lang, dialog.Stale(t.facts(b), client, card.Version))
				if err != nil {
					return err
				}
				m = parts[len(parts)-1]
				m.Out.OnlyEdit = true
				made[key] = m
			}
			m.Site, m.Person, m.Edits, m.Out.To = site.Ref, p.Ref, card.ID, a
			if _, err := tx.Enqueue(m); err != nil {
				return fmt.Errorf("queue an edit: %w", err)
			}
		}
	}
	if len(at) < holders {
		return nil
	}
	return tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeStale, Key: client.Ref, Due: tx.Now})
}

// planBefore plans what happens before a shift starts, unless its time is over.
func (b *Bot) planBefore(tx *store.Tx, site *care.Site, s care.Shift, start time.Time) error {
	body, err := json.Marshal(shiftWake{Shift: s.Name, Start: start})
	if err != nil {
		return err
	}
	phone, err := json.Marshal(phoneWake{Shift: s.Name, Start: start})
	if err != nil {
		return err
	}
	if due := start.Add(-remindBefore); due.After(tx.Now) {
		if err := tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeBefore, Key: s.Name, Due: due, Body: string(body)}); err != nil {
			return err
		}
	}
	if due := start.Add(-phoneBefore); due.After(tx.Now) {
		return tx.SetWake(store.Wake{Site: site.Ref, Kind: wakePhone, Key: "shift " + s.Name, Due: due, Body: string(phone)})
	}
	return nil
}

// beforeShift has those reminded who come on in an hour and have not confirmed what
// holds in their shift.
func (b *Bot) beforeShift(tx *store.Tx, site *care.Site, w store.Wake) error {
	var sw shiftWake
	if err := json.Unmarshal([]byte(w.Body), &sw); err != nil {
		return fmt.Errorf("read a shift's wake: %w", err)
	}
	shift, ok := shiftOf(site, sw.Shift)
	if !ok {
		return nil
	}
	_, end := shift.Span(care.DateOf(sw.Start.In(site.Location())), site.Location())
	if !tx.Now.Before(end) {
		return nil
	}
	open, err := tx.OpenHeads(site.Ref)
	if err != nil {
		return err
	}
	for _, c := range open {
		if !c.From.Before(end) {
			continue // it does not hold yet in this shift
		}
		rw := remindWake{Change: c.ID, Since: tx.Now.Add(-tooSoon), Shift: sw.Shift, Start: sw.Start}
		if err := b.setRemind(tx, site, c.ID+" "+sw.Shift, rw, tx.Now); err != nil {
			return err
		}
	}
	return nil
}

// A phoneWake says what a list of people to phone is about: a shift or a change.
type phoneWake struct {
	Shift  string    `json:"shift,omitempty"`
	Start  time.Time `json:"start,omitzero"`
	Change string    `json:"change,omitempty"`
}

// phone tells the coordinators whom to phone, since they have not confirmed.
func (b *Bot) phone(tx *store.Tx, site *care.Site, w store.Wake) error {
	var pw phoneWake
	if err := json.Unmarshal([]byte(w.Body), &pw); err != nil {
		return fmt.Errorf("read a wake of whom to phone: %w", err)
	}
	var shift *care.Shift
	end := tx.Now.Add(time.Microsecond)
	if pw.Shift != "" {
		s, ok := shiftOf(site, pw.Shift)
		if !ok {
			return nil
		}
		shift = &s
		if _, end = s.Span(care.DateOf(pw.Start.In(site.Location())), site.Location()); !tx.Now.Before(end) {
			return nil
		}
	}
	open, err := tx.Open(site.Ref)
	if err != nil {
		return err
	}
	var all []dialog.Waiting
	for _, c := range open {
		if pw.Change != "" && c.ID != pw.Change || !c.From.Before(end) {
			continue
		}
		x := dialog.Waiting{Change: c}
		for _, t := range c.Told {
			if p, ok := site.Person(t.Person); ok && (shift == nil || p.Works(shift.Name)) {
				x.People = append(x.People, t)
			}
		}
		if len(x.People) > 0 {
			all = append(all, x)
		}
	}
	if len(all) == 0 {
		return nil
	}
	for _, p := range site.Coordinators() {
		address, ok, err := tx.Address(site.Ref, p.Ref)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		t := b.turnOf(tx, site, p, address, 0)
		if _, err := t.say(dialog.Phone(t.facts(b), shift, pw.Start, all)); err != nil {
			return err
		}
		if t.records.err != nil {
			return t.records.err
		}
	}
	return nil
}

// returned tells somebody who can be reached again what they have not confirmed: what
// was sent meanwhile is lost.
func (b *Bot) returned(tx *store.Tx, site *care.Site, revision int64, w store.Wake) error {
	me, ok := site.Person(w.Key)
	if !ok || me.Role != care.Carer {
		return nil
	}
	open, err := tx.Unconfirmed(site.Ref, me.Ref)
	if err != nil {
		return err
	}
	for _, c := range open {
		if err := b.tell(tx, site, revision, me, c); err != nil {
			return err
		}
	}
	return nil
}

// actOnPlan keeps an act on a plan and has it told at once.
func (t *turn) actOnPlan(e care.PlanEvent) error {
	e, err := t.tx.ActOnPlan(t.site.Ref, e)
	if err != nil {
		return err
	}
	c := care.Change{Client: e.Client, Kind: care.ChangeKind(e.Act), Before: e.Version, After: e.Version, Text: e.Text}
	switch e.Act {
	case care.PlanSuspended:
		c.Text, c.Urgent = care.Text{}, true
	case care.PlanInstead:
		c.Kind, c.Urgent = care.ChangeSuspended, true
	case care.PlanEnded:
		c.Urgent = true
	}
	return t.publish(c)
}

// publish has a change told that this turn has made.
func (t *turn) publish(c care.Change) error {
	site, revision, err := t.tx.SiteRevision(t.site.Ref)
	if err != nil {
		return err
	}
	return t.bot.publish(t.tx, site, revision, c, t.me.Ref)
}

// publishDraft puts a draft in force.
func (t *turn) publishDraft(e dialog.PublishDraft) error {
	p, ok, err := t.tx.PublishDraft(t.site.Ref, e.Client, e.Version)
	if err != nil || !ok {
		return err
	}
	return t.publish(versionChange(p))
}

// versionChange is the telling of a new version.
func versionChange(p store.PlanChange) care.Change {
	return care.Change{Client: p.Client, Kind: care.ChangeVersion, Before: p.Before, After: p.After, From: p.From, Urgent: p.Urgent}
}
