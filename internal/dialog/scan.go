package dialog

import (
	"slices"
	"strings"
	"unicode"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/rules"
)

// A label in the hand, scanned as a code or typed:
//
//	a client's -> their card, or the answer for nobody's name
//	a sling's -> is it the one for the client just spoken of? -> the piece
//	a hoist's -> the same
func scan(s State, f Facts, l care.Labelled) (State, []Effect) {
	if l.Kind == care.ClientLabel {
		c, ok := mayAnswer(f, l.Ref)
		if !ok {
			return s, []Effect{nobody(f, "")}
		}
		return clientCard(s, f, c, "")
	}
	p, ok := pieceOf(f.Site, l.Ref)
	if !ok {
		return s, []Effect{say(line("button.old"))}
	}
	// A form that asks which piece it was has its answer in the label.
	if s.Form != nil && s.Form.Step == "equipment" {
		return answered(s, f, answer{typed: p.label}, false)
	}
	c, ok := mayAnswer(f, s.Client)
	if !ok || f.Now.Sub(s.Spoken) > FollowUp {
		return s, []Effect{showPiece(f, p)}
	}
	lines := inHand(s, f, c, p)
	out := showPiece(f, p, lines...)
	out.Client = c.Ref
	if plan, ok := f.Site.PlanAt(c.Ref, f.Now); ok {
		out.PlanVersion = plan.Version
		out.Choices = append(out.Choices, []Choice{clientLabel(f.Site, c, Action{Do: "client", Client: c.Ref})})
	}
	return s, append(unconfirmedFirst(f, c), out)
}

// inHand says whether a piece is the one that a client's plan names, for the transfer
// that was spoken of, or for each. A wrong one is a stop and stands first.
func inHand(s State, f Facts, c care.Client, p piece) []Line {
	plan, ok := f.Site.PlanAt(c.Ref, f.Now)
	if !ok {
		return noPlan(f, c).Lines
	}
	ways := serving(plan, "", "")
	if s.Transfer != "" {
		from, to := care.ParseTransferKey(s.Transfer)
		if found := serving(plan, from, to); len(found) > 0 {
			ways = found
		}
	}
	var right, wrong []Line
	seen := map[string]bool{}
	for _, w := range ways {
		if seen[w.t.Key()] {
			continue // the way back, for which the same holds
		}
		seen[w.t.Key()] = true
		v := view{f: f, client: c, plan: plan, t: w.t, from: w.from, to: w.to, back: w.t.BothWays && len(ways) > 1}
		way := v.moveLine()
		stops, isSpare := wrongPiece(f, c, plan, w.t, p)
		switch {
		case len(stops) > 0:
			way.Style = Strong
			wrong = append(wrong, way)
			for _, x := range stops {
				l := findingLine(x)
				if x.Key == "" {
					l = line("scan.other_hoist", "Label", p.label, "Hoist", w.t.Hoist)
				}
				wrong = append(wrong, l)
			}
			wrong = append(wrong, planned(v, p)...)
		case isSpare:
			right = append(right, strong("scan.spare", "Label", p.label, "Planned", w.t.Label), way)
		default:
			right = append(right, strong("scan.right", p.named()...), way)
		}
	}
	if len(wrong) > 0 {
		why := append([]Line{warn("stop.title"), clientLine(Strong, f.Site, c)}, wrong...)
		why = append(append(why, line("stop.who_decides")), whomToCall(f.Site)...)
		return append(why, right...)
	}
	return append([]Line{clientLine(Strong, f.Site, c)}, right...)
}

// planned repeats what the plan names in the place of the piece in the hand, and that
// the spare is to be taken where it is.
func planned(v view, p piece) []Line {
	if p.kind == care.HoistLabel {
		return hoistLines(v)
	}
	out := append(slingLines(v), spareLines(v)...)
	return append(out, instead(rules.Equipment(v.f.Site, v.t, v.f.today()))...)
}

// wrongPiece gives what stops a transfer that is done with the piece in the hand: that it
// is another than the plan's, and all else that stops the transfer. A hoist other than
// the plan's is a finding without a key.
func wrongPiece(f Facts, c care.Client, plan care.Plan, t care.Transfer, p piece) (stops []rules.Finding, spare bool) {
	switch p.kind {
	case care.SlingLabel:
		stops = rules.Of(rules.SlingInHand(f.Site, t, p.label, f.today()), rules.Stop)
		spare = p.label == t.Spare && p.label != t.Label
	case care.HoistLabel:
		if t.Hoist != p.label {
			stops = append(stops, rules.Finding{Severity: rules.Stop})
		}
	}
	for _, x := range rules.Of(rules.Check(f.Site, c, plan, t, f.Now), rules.Stop) {
		// What is said about the planned sling is not about the one in the hand.
		if p.kind == care.SlingLabel && slices.Contains([]string{"sling_not_usable", "sling_and_spare_not_usable"}, x.Key) {
			continue
		}
		stops = append(stops, x)
	}
	return stops, spare
}

// labelIn finds the one label of the site's equipment that a text names. A text that is
// a label and nothing else always counts; inside a sentence a label must have a letter
// and a digit, so that a room's number or a word is none.
func labelIn(site *care.Site, text string) (care.Labelled, bool) {
	var found care.Labelled
	n := 0
	words := strings.FieldsFunc(fold(text), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-' && r != '_' && r != '/'
	})
	for _, p := range pieces(site) {
		label := fold(p.label)
		if !strings.ContainsFunc(label, unicode.IsLetter) || !strings.ContainsFunc(label, unicode.IsDigit) {
			continue
		}
		if label == fold(strings.TrimSpace(text)) || slices.ContainsFunc(words, func(w string) bool { return strings.Trim(w, "-_/") == label }) {
			found, n = care.Labelled{Kind: p.kind, Ref: p.label}, n+1
		}
	}
	if n != 1 {
		return care.Labelled{}, false
	}
	return found, true
}

// fold makes of capitals small letters, of the hyphens of every keyboard the plain one,
// and of the digits of every script those on labels.
func fold(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Pd, r) {
			return '-'
		}
		if unicode.IsDigit(r) {
			return rune('0' + care.Digit(r))
		}
		return unicode.ToLower(r)
	}, s)
}

// spokenLabel answers a question that names a label: "I have sling S-022". It leaves to
// the ordinary way every question that is about something else.
func spokenLabel(s State, f Facts, r ask.Reading, text string) (State, []Effect, bool) {
	if r.Emergency {
		return s, nil, false
	}
	for _, t := range r.Topics {
		if t != ask.Unknown && t != ask.Sling && t != ask.Hoist && t != ask.Equipment {
			return s, nil, false
		}
	}
	l, ok := labelIn(f.Site, text)
	if !ok {
		return s, nil, false
	}
	switch {
	case len(r.Candidates) > 0:
		return s, nil, false // who is meant comes first
	case r.Client != "":
		c, ok := mayAnswer(f, r.Client)
		if !ok {
			return s, nil, false
		}
		if s.Client != c.Ref {
			s.Transfer = ""
		}
		s.Client, s.Spoken = c.Ref, f.Now
	case r.UnknownName != "" && !strings.Contains(fold(l.Ref), fold(r.UnknownName)):
		return s, nil, false
	}
	if r.From != "" || r.To != "" {
		s.Transfer = care.Transfer{From: r.From, To: r.To}.Key()
	}
	s, effects := scan(s, f, l)
	return s, effects, true
}
