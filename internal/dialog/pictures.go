package dialog

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"reflect"
	"slices"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/picture"
	"samelift/internal/rules"
)

// Picture is what a message shows beside its words.
type Picture struct {
	// Key stands for all that is drawn: the same key, the same picture.
	Key     string
	Drawing picture.Drawing
	// Alt says line by line what the picture shows.
	Alt []Words
}

// drawn is part of every key; it is raised when the same input is drawn otherwise than
// before, so that no kept picture is shown for a new one.
const drawn = 1

// shown makes a picture of a drawing and of all that went into it.
func shown(kind string, input any, d picture.Drawing, alt []Words) *Picture {
	// Inputs are structs of strings and numbers; those whose numbers are not finite
	// are refused before.
	b, _ := json.Marshal([]any{drawn, kind, input})
	sum := sha256.Sum256(b)
	return &Picture{Key: base64.RawURLEncoding.EncodeToString(sum[:18]), Drawing: d, Alt: alt}
}

// pictured are the topics whose answer can be looked at.
var pictured = []ask.Topic{ask.Sling, ask.Loops, ask.Legs, ask.Plan}

// withPicture puts the sling's picture beside a card that is about what it shows, or
// says in one small line why there is none.
func withPicture(out Say, v view, findings []rules.Finding, topics []ask.Topic) Say {
	if !slices.ContainsFunc(topics, func(t ask.Topic) bool { return slices.Contains(pictured, t) }) || !wants(v.f) {
		return out
	}
	in, ok := slingInput(v, findings)
	if !ok {
		return out // the words say already that the plan names no sling
	}
	p, err := slingShown(in)
	if err != nil {
		out.Lines = append(out.Lines, notDrawn(err))
	}
	out.Picture = p
	return out
}

func slingShown(in picture.SlingInput) (*Picture, error) {
	d, err := picture.Sling(in)
	if err != nil {
		return nil, err
	}
	return shown("sling", in, d, append([]Words{words("picture.sling")}, altOf(d.Alt)...)), nil
}

// wants reports whether the reader gets pictures at all.
func wants(f Facts) bool { return f.Site != nil && !f.Site.NoPictures && !f.Me.NoPictures }

// slingInput gives what the picture of a transfer shows and nothing else, so that the
// way back and a later version that changes none of it have the same picture. It
// reports false where the plan names no range that the site has.
func slingInput(v view, findings []rules.Finding) (picture.SlingInput, bool) {
	r, ok := v.f.Site.Range(v.t.Range)
	if !ok {
		return picture.SlingInput{}, false
	}
	t := care.Transfer{Range: v.t.Range, Size: v.t.Size, Label: v.t.Label, LegStraps: v.t.LegStraps,
		Arms: v.t.Arms, Carers: v.t.Carers, Head: v.t.Head}
	for _, l := range v.t.Loops {
		t.Loops = append(t.Loops, care.PointLoops{Point: l.Point, Left: l.Left, Right: l.Right})
	}
	for _, x := range findings {
		// The picture shows the sling that is to be taken, as the words do.
		if x.Key == "sling_take_spare" {
			t.Label = v.t.Spare
		}
	}
	return picture.SlingInput{Transfer: t, Range: r, Stopped: len(rules.Of(findings, rules.Stop)) > 0}, true
}

// notDrawn says why there is no picture.
func notDrawn(err error) Line {
	var r *picture.Refusal
	if errors.As(err, &r) && (r.Reason == picture.NotDrawn || r.Reason == picture.TooMany) {
		return small("picture.none.kind")
	}
	return small("picture.none.differs")
}

// Beside is a picture with a line of its own, for a message that has more than one.
type Beside struct {
	Line    Line
	Picture *Picture
}

// changePictures shows beside a change what it looks like, old and new: the first
// transfer that looks otherwise in the message itself, any other after it.
func changePictures(out Say, f Facts, c care.Client, before, after care.Plan) Say {
	if !wants(f) {
		return out
	}
	for _, t := range after.Transfers {
		old, had := before.Transfer(t.Key())
		if !had {
			continue
		}
		is, ok := slingInput(view{f: f, client: c, plan: after, t: t}, changeFindings(f, c, after, t))
		if !ok {
			continue
		}
		// What stops the transfer today is no part of what the plan changes.
		was, ok := slingInput(view{f: f, client: c, plan: before, t: old}, nil)
		if old.Label == t.Label {
			was.Transfer.Label = is.Transfer.Label // the spare, where that is to be taken now
		}
		same := is
		if same.Stopped = false; ok && reflect.DeepEqual(was, same) {
			continue
		}
		d, err := picture.Change(was, is)
		if err != nil {
			continue // the words of the change are complete, and the card says what is wrong
		}
		p := shown("change", []picture.SlingInput{was, is}, d, append([]Words{words("picture.change")}, altOf(d.Alt)...))
		about := small("picture.of", "From", place(t.From), "To", place(t.To))
		if out.Picture != nil {
			out.Also = append(out.Also, Beside{about, p})
			continue
		}
		out.Picture = p
		if len(after.Transfers) > 1 {
			out.Lines = append(out.Lines, about)
		}
	}
	return out
}

// changeFindings finds what stops a transfer, as it stands once the new version is in
// force: that it is not yet is what the message says in words.
func changeFindings(f Facts, c care.Client, after care.Plan, t care.Transfer) []rules.Finding {
	now := f.Now
	if after.From.After(now) {
		now = after.From
	}
	return rules.Check(f.Site, c, after, t, now)
}

// altOf words what a sling picture shows.
func altOf(facts []picture.Fact) []Words {
	var out []Words
	clips := false
	for _, f := range facts {
		switch f.Key {
		case picture.FactStop:
			out = append(out, words("stop.title"))
		case picture.FactSize:
			out = append(out, altWord(f, "sling.size", "Size", "size"))
		case picture.FactLabel:
			out = append(out, altWord(f, "sling.label", "Label", "sling_label"))
		case picture.FactCarers:
			if !f.Stated() {
				out = append(out, notStated("carers")[0].Words)
			} else {
				out = append(out, words("carers", "Count", f.N))
			}
		case picture.FactHead:
			if f.Word == "" {
				f.Word = "unknown"
			}
			out = append(out, words("picture.head."+f.Word))
		case picture.FactHeadNeed:
			if !f.Stated() {
				out = append(out, notStated("head_support")[0].Words)
			} else {
				out = append(out, words("head."+f.Word))
			}
		case picture.FactLoop:
			point := "point." + string(f.Point)
			if f.Side != care.BothSides {
				point += "." + string(f.Side)
			}
			loops := make([]care.Loop, f.Of)
			if f.N > 0 {
				loops[f.N-1].Colour = f.Word
			}
			out = append(out, loopLine(point, f.N, loops).Words)
		case picture.FactClip:
			if !clips {
				out = append(out, words("loops.clips"))
			}
			clips = true
		case picture.FactDiffer:
			out = append(out, words("picture.differ", "Point", Term("point."+string(f.Point))))
		case picture.FactLegStraps:
			if !f.Stated() {
				out = append(out, notStated("leg_straps")[0].Words)
			} else {
				out = append(out, words("legs", "Legs", Term("legs."+f.Word)))
			}
		case picture.FactArms:
			if !f.Stated() {
				out = append(out, notStated("arms")[0].Words)
			} else {
				out = append(out, words("arms", "Arms", Term("arms."+f.Word)))
			}
		case picture.FactChanged:
			if what, ok := changedFields[picture.FactKey(f.Word)]; ok {
				if f.Point != "" {
					what = "point." + string(f.Point)
				}
				out = append(out, words("picture.changed", "What", Term(what)))
			}
		}
	}
	// A change of the head support may show at the sling and at the plan: told once.
	return slices.CompactFunc(out, func(a, b Words) bool { return reflect.DeepEqual(a, b) })
}

// changedFields name what a frame in the picture of a change is about.
var changedFields = map[picture.FactKey]string{
	picture.FactSize: "field.size", picture.FactLabel: "field.sling_label", picture.FactCarers: "field.carers",
	picture.FactHead: "field.head_support", picture.FactHeadNeed: "field.head_support", picture.FactLoop: "field.loops",
	picture.FactLegStraps: "field.leg_straps", picture.FactArms: "field.arms",
}

func altWord(f picture.Fact, key, arg, field string) Words {
	if !f.Stated() {
		return notStated(field)[0].Words
	}
	return words(key, arg, f.Word)
}

// picturesAsked shows whether the person gets pictures, and lets them choose.
func picturesAsked(f Facts) Say {
	switch {
	case f.Site.NoPictures:
		return say(line("pictures.site"))
	case f.Me.NoPictures:
		out := say(line("pictures.are.off"))
		out.Choices = rows(1, choice("pictures.turn.on", Action{Do: "pictures", Value: "on"}))
		return out
	}
	out := say(line("pictures.are.on"))
	out.Choices = rows(1, choice("pictures.turn.off", Action{Do: "pictures", Value: "off"}))
	return out
}

// setPictures turns pictures on or off for the person, by a button or by a word.
func setPictures(f Facts, word string, pressed bool) []Effect {
	if word != "on" && word != "off" {
		return []Effect{picturesAsked(f)}
	}
	f.Me.NoPictures = word == "off"
	out := picturesAsked(f)
	out.InPlace = pressed
	return []Effect{SetPictures{Without: f.Me.NoPictures}, out}
}
