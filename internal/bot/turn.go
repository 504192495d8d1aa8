package bot

import (
	"encoding/json"
	"fmt"
	"time"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/dialog"
	"samelift/internal/locale"
	"samelift/internal/store"
)

// A turn is one step of one person's conversation while its transaction is open.
type turn struct {
	bot      *Bot
	tx       *store.Tx
	site     *care.Site // nil for somebody who has not joined
	revision int64
	me       care.Person
	from     chat.Address
	// pressed is the message whose choice was pressed, or zero.
	pressed int64
	// claimed is the hash of the invitation that this conversation has claimed.
	claimed string
	// code is what the invitation made in this turn is opened with.
	code    string
	records *records
}

func (b *Bot) turnOf(tx *store.Tx, site *care.Site, me care.Person, from chat.Address, pressed int64) *turn {
	t := &turn{bot: b, tx: tx, site: site, me: me, from: from, pressed: pressed}
	if site != nil {
		t.records = &records{tx: tx, site: site.Ref, at: from}
		if me.Role == care.Carer {
			t.records.carer = me.Ref
		}
	}
	return t
}

// facts gathers what a step may know.
func (t *turn) facts(b *Bot) dialog.Facts {
	f := dialog.Facts{Now: t.tx.Now, Site: t.site, Me: t.me}
	for _, l := range b.Words.Languages() {
		f.Langs = append(f.Langs, dialog.Lang{Code: l.Code, Autonym: l.Autonym})
	}
	if t.site != nil {
		f.Records = t.records
		f.ReadDate = b.Words.Printer(t.me.Lang, time.UTC).ReadDate
		f.Read = func(text string) ask.Reading { return b.reader(t.site, t.revision).Read(text, t.me.Lang) }
		f.ReadOwn = func(text string) ask.Reading {
			return b.readerOf(t.site, t.site.ClientsOf(t.me)).Read(text, t.me.Lang)
		}
	}
	return f
}

// apply does the effects in order.
func (t *turn) apply(effects []dialog.Effect) error {
	for _, e := range effects {
		if err := t.do(e); err != nil {
			return err
		}
	}
	return nil
}

func (t *turn) do(e dialog.Effect) error {
	tx := t.tx
	switch e := e.(type) {
	case dialog.Say:
		_, err := t.say(e)
		return err
	case dialog.SaveNote:
		return tx.SaveNote(t.site.Ref, e.Note)
	case dialog.SaveIncident:
		return tx.SaveIncident(t.site.Ref, e.Incident)
	case dialog.SetEquipment:
		return tx.SetEquipment(t.site.Ref, e.Event)
	case dialog.AddTo:
		return tx.Add(t.site.Ref, e.Ref, e.Addition)
	case dialog.SetLang:
		t.me.Lang = e.Lang
		if t.site != nil {
			return tx.SetLang(t.site.Ref, t.me.Ref, e.Lang)
		}
		return nil
	case dialog.SetPictures:
		t.me.NoPictures = e.Without
		return tx.SetPictures(t.site.Ref, t.me.Ref, e.Without)
	case dialog.Confirm:
		return tx.Confirm(t.site.Ref, e.Change, t.me.Ref)
	case dialog.Told:
		return tx.Told(t.site.Ref, e.Change, e.Person)
	case dialog.Wrong:
		return tx.Wrong(t.site.Ref, e.Change, t.me.Ref)
	case dialog.ActOnPlan:
		return t.actOnPlan(e.Event)
	case dialog.PublishDraft:
		return t.publishDraft(e)
	case dialog.HandedOver:
		return tx.SetHandedOver(t.site.Ref, e.Person, e.From, e.To)
	case dialog.Invite:
		code, err := t.bot.invite(tx, t.site.Ref, e.Person, t.me.Ref)
		t.code = t.bot.Link(t.from.Transport, code)
		return err
	case dialog.RemovePerson:
		return t.bot.remove(tx, t.site, e.Person)
	case dialog.PublishPlan:
		return t.publishPlan(e)
	case dialog.PreviewFile:
		return t.previewFile(e)
	case dialog.TakeFile:
		return t.takeFile(e)
	case dialog.Join:
		return t.join(e.Lang)
	}
	return fmt.Errorf("an effect of type %T is not known", e)
}

// join lets the person in, and welcomes them with what they have to know first.
func (t *turn) join(lang string) error {
	who, err := t.tx.Use(t.claimed, t.from)
	if err != nil {
		if key, known := refusedCode(err); known {
			_, err = t.say(dialog.Say{Lines: []dialog.Line{{Words: dialog.Words{Key: key}}}})
		}
		return err
	}
	if err := t.tx.Join(who.Site, who.Person, t.from, lang); err != nil {
		return err
	}
	site, revision, err := t.tx.SiteRevision(who.Site)
	if err != nil {
		return err
	}
	me, _ := site.Person(who.Person)
	in := t.bot.turnOf(t.tx, site, me, t.from, t.pressed)
	in.revision = revision
	p := t.bot.Words.Printer(lang, site.Location())
	effects := dialog.Welcome(in.facts(t.bot), p.Reviewed)
	if in.records.err != nil {
		return in.records.err
	}
	return in.apply(effects)
}

// lanes says which lane an urgency travels in.
var lanes = map[dialog.Urgency]store.Lane{
	dialog.Reply: store.LaneReply, dialog.Alert: store.LaneAlert, dialog.Change: store.LaneChange,
	dialog.Handover: store.LaneHandover, dialog.Reminder: store.LaneReminder, dialog.Mark: store.LaneEdit,
}

// say puts a message into the outbox in its reader's words. It returns the id of the
// last part, or zero where the reader cannot be reached at all.
func (t *turn) say(s dialog.Say) (int64, error) {
	to, reader := t.from, t.me
	if s.To != "" && s.To != t.me.Ref {
		address, ok, err := t.tx.Address(t.site.Ref, s.To)
		if err != nil || !ok {
			return 0, err
		}
		to = address
		reader, _ = t.site.Person(s.To)
	}
	if reader.NoPictures {
		s.Picture, s.Also = nil, nil
	}
	parts, err := t.parts(reader.Lang, s)
	if err != nil {
		return 0, err
	}
	var id int64
	for _, m := range parts {
		m.Person, m.Out.To = reader.Ref, to
		if t.site != nil && reader.Ref != "" {
			m.Site = t.site.Ref
		}
		if s.InPlace && s.To == "" && len(parts) == 1 {
			m.Edits = t.pressed
		}
		if id, err = t.tx.Enqueue(m); err != nil {
			return 0, fmt.Errorf("queue a message: %w", err)
		}
	}
	return id, nil
}

// parts words what is said in a language, split where it is too long for one message.
// Whom it is for is left open.
func (t *turn) parts(lang string, s dialog.Say) ([]store.Message, error) {
	zone := time.UTC
	if t.site != nil {
		zone = t.site.Location()
	}
	w := wording{printer: t.bot.Words.Printer(lang, zone), code: t.code}
	body, err := w.body(s.Lines)
	if err != nil {
		return nil, err
	}
	choices, actions, err := w.choices(s.Choices)
	if err != nil {
		return nil, err
	}
	var out []store.Message
	parts := chat.Split(body, chat.MaxBody)
	if len(parts) > 1 && t.site != nil {
		if parts, err = t.headed(w, body, s.Client); err != nil {
			return nil, err
		}
	}
	for _, part := range parts {
		out = append(out, store.Message{
			Lane: lanes[s.Urgency], Client: s.Client, PlanVersion: s.PlanVersion,
			Out: chat.Outbound{
				Lang: w.printer.Code, RTL: w.printer.RTL, Body: part,
				Secret: t.site != nil, Quiet: s.Urgency == dialog.Reminder || s.Urgency == dialog.Mark,
			},
		})
	}
	if out[0].Out.Picture, err = t.picture(w, s.Picture); err != nil {
		return nil, err
	}
	for _, b := range s.Also {
		next := out[0]
		if next.Out.Body, err = w.body([]dialog.Line{b.Line}); err != nil {
			return nil, err
		}
		if next.Out.Picture, err = t.picture(w, b.Picture); err != nil {
			return nil, err
		}
		if next.Out.Picture != nil {
			out = append(out, next)
		}
	}
	last := &out[len(out)-1]
	last.Out.Choices, last.Actions = choices, actions
	return out, nil
}

// maxHead is the most UTF-16 code units of a line that names a client.
const maxHead = 300

// headed parts a body so that every part names the client whom all of it is about.
func (t *turn) headed(w wording, body []chat.Paragraph, client string) ([][]chat.Paragraph, error) {
	whose, ok := dialog.Whose(t.site, client)
	if !ok {
		return chat.Split(body, chat.MaxBody), nil
	}
	head, err := w.body([]dialog.Line{whose})
	if err != nil {
		return nil, err
	}
	parts := chat.Split(body, chat.MaxBody-maxHead)
	for i := 1; i < len(parts); i++ {
		parts[i] = append(head[:1:1], parts[i]...)
	}
	return parts, nil
}

// pressed reads what a choice meant.
func (b *Bot) pressed(tx *store.Tx, from chat.Address, data string) (dialog.Action, int64, bool, error) {
	raw, message, ok, err := tx.Pressed(from, data)
	if err != nil || !ok {
		return dialog.Action{}, 0, false, err
	}
	var a dialog.Action
	if err := json.Unmarshal(raw, &a); err != nil {
		return dialog.Action{}, 0, false, fmt.Errorf("read a choice: %w", err)
	}
	return a, message, true, nil
}

// Word puts one key into a language's words, for the operator.
func (b *Bot) Word(lang string, zone *time.Location, w dialog.Words) (string, error) {
	return wording{printer: b.Words.Printer(lang, zone)}.words(w)
}

// wording puts what is said into one reader's words.
type wording struct {
	printer *locale.Printer
	code    string
}

func (w wording) body(lines []dialog.Line) ([]chat.Paragraph, error) {
	var out []chat.Paragraph
	for _, l := range lines {
		p := chat.Paragraph{Style: chat.Style(l.Style)}
		if !l.Own.IsZero() {
			p.Text, p.Lang = l.Own.Words, l.Own.Lang
			p.RTL = locale.RTL(l.Own.Lang)
			if l.Own.Lang != "" && l.Own.Lang != w.printer.Code {
				named, err := w.printer.Say("own.language", map[string]any{"Language": locale.Term("language." + l.Own.Lang)})
				if err != nil {
					return nil, err
				}
				p.Keep = l.Keep
				out = append(out, p, chat.Paragraph{Style: chat.Small, Text: named, RTL: w.printer.RTL, Keep: true})
				continue
			}
		} else {
			text, err := w.words(l.Words)
			if err != nil {
				return nil, err
			}
			p.Text, p.RTL = text, w.printer.RTL
		}
		p.Keep = l.Keep
		out = append(out, p)
	}
	return out, nil
}

func (w wording) choices(rows [][]dialog.Choice) ([][]chat.Choice, []json.RawMessage, error) {
	var out [][]chat.Choice
	var actions []json.RawMessage
	for _, row := range rows {
		var cs []chat.Choice
		for _, c := range row {
			text := c.As
			if text == "" {
				var err error
				if text, err = w.words(c.Label); err != nil {
					return nil, nil, err
				}
			}
			action, err := json.Marshal(c.Does)
			if err != nil {
				return nil, nil, err
			}
			cs = append(cs, chat.Choice{Label: shorten(text, chat.MaxLabel)})
			actions = append(actions, action)
		}
		out = append(out, cs)
	}
	return out, actions, nil
}

func (w wording) words(d dialog.Words) (string, error) {
	args := make(map[string]any, len(d.Args))
	for name, v := range d.Args {
		switch v := v.(type) {
		case dialog.Term:
			args[name] = locale.Term(v)
		case dialog.Invitation, dialog.SheetCode:
			args[name] = w.code
		default:
			args[name] = v
		}
	}
	return w.printer.Say(d.Key, args)
}

// shorten cuts what is too long for a button.
func shorten(s string, limit int) string {
	r := []rune(s)
	if len(r) <= limit {
		return s
	}
	return string(r[:limit-1]) + "…"
}
