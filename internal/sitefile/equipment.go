package sitefile

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"samelift/internal/care"
)

func (b *builder) readRanges(v val) {
	seen := map[string]bool{}
	for _, e := range v.items(200) {
		o, ok := e.object("ref", "name", "kind", "attachment", "head_support", "points", "leg_straps", "sizes")
		if !ok {
			continue
		}
		g := care.Range{
			Ref:        o.needRef("ref", "harbour-full"),
			Name:       o.needText("name", maxName, "Harbour full body"),
			Kind:       needWord(o, "kind", care.SlingKinds),
			Attachment: needWord(o, "attachment", care.Attachments),
			Head:       word(o.get("head_support"), care.YesNos),
			LegStraps:  words(o.get("leg_straps"), care.LegStrapsAll),
		}
		if points, ok := o.must("points", "[{point: shoulder, loops: [...]}]"); ok {
			g.Points = readPoints(points, g.Attachment)
		}
		if sizes, ok := o.must("sizes", `[{name: "M", safe_working_load_kg: 160}]`); ok {
			g.Sizes = readSizes(sizes)
		}
		once(o, "ref", g.Ref, seen)
		b.ranges[g.Ref] = g
		b.site.Ranges = append(b.site.Ranges, g)
	}
}

func readPoints(v val, hold care.Attachment) []care.RangePoint {
	var out []care.RangePoint
	for _, e := range v.items(len(care.Points)) {
		o, ok := e.object("point", "loops")
		if !ok {
			continue
		}
		p := care.RangePoint{Point: needWord(o, "point", care.Points)}
		if slices.ContainsFunc(out, func(q care.RangePoint) bool { return q.Point == p.Point && p.Point != "" }) {
			o.get("point").fail("%q stands twice in this range: keep one of the two", p.Point)
		}
		longest := 0
		for _, l := range o.get("loops").items(12) {
			lo, ok := l.object("colour", "length_mm")
			if !ok {
				continue
			}
			loop := care.Loop{
				Colour: strings.ToLower(lo.get("colour").text(maxLabel)),
				Length: lo.get("length_mm").number(1, 3000),
			}
			if loop.Length > 0 && loop.Length <= longest {
				lo.get("length_mm").fail("%d mm is not longer than the loop before: list the loops from the shortest to the longest", loop.Length)
			}
			longest = max(longest, loop.Length)
			p.Loops = append(p.Loops, loop)
		}
		switch {
		case hold == care.LoopAttachment && len(p.Loops) == 0:
			e.fail("has no loops: list them from the shortest to the longest, such as loops: [{colour: teal}, {colour: brown}]")
		case hold == care.ClipAttachment && len(p.Loops) > 0:
			o.get("loops").fail("a range that holds by clips has no loops: take them away, or write attachment: loop")
		}
		out = append(out, p)
	}
	if v.n.Kind == yaml.SequenceNode && len(v.n.Content) == 0 {
		v.fail("is empty: list the points, such as {point: shoulder, loops: [...]}")
	}
	slices.SortStableFunc(out, func(a, b care.RangePoint) int {
		return slices.Index(care.Points, a.Point) - slices.Index(care.Points, b.Point)
	})
	return out
}

func readSizes(v val) []care.Size {
	var out []care.Size
	seen := map[string]bool{}
	for _, e := range v.items(40) {
		o, ok := e.object("name", "safe_working_load_kg", "mass_kg", "back_length_mm", "hips_mm")
		if !ok {
			continue
		}
		s := care.Size{Name: o.needText("name", maxLabel, `"M"`), Limit: o.get("safe_working_load_kg").mass()}
		s.Mass = span(o.get("mass_kg"), val.mass)
		s.Back = span(o.get("back_length_mm"), func(v val) int { return v.number(100, 2000) })
		s.Hips = span(o.get("hips_mm"), func(v val) int { return v.number(300, 3000) })
		once(o, "name", s.Name, seen)
		out = append(out, s)
	}
	return out
}

// span reads {from: ..., to: ...}; an end that is left out is open.
func span[T care.Mass | int](v val, read func(val) T) care.Span[T] {
	if v.absent() {
		return care.Span[T]{}
	}
	o, ok := v.object("from", "to")
	if !ok {
		return care.Span[T]{}
	}
	s := care.Span[T]{From: read(o.get("from")), To: read(o.get("to"))}
	switch {
	case o.get("from").absent() && o.get("to").absent():
		v.fail("says nothing: write {from: ..., to: ...} as in the maker's size table, or leave the field out")
	case s.To != 0 && s.To < s.From:
		o.get("to").fail("the span ends before it begins: look at the maker's size table again")
	}
	return s
}

// label reads what stands on a piece of equipment. Slings and hoists share one set of
// labels, since a carer tells the bot a label and nothing else.
func (b *builder) label(o obj, example string) string {
	s := o.needText("label", maxLabel, example)
	if s != "" && b.labels[strings.ToLower(s)] {
		o.get("label").fail("%q is on another sling or hoist above: every label must be its own, small and capital letters alike", s)
	}
	b.labels[strings.ToLower(s)] = true
	return s
}

func examined(o obj) care.Examined {
	x := care.Examined{
		Last: o.get("last_examination").date(), Due: o.get("next_due").date(),
		Exceptional: o.get("exceptional").date(), Serviced: o.get("last_service").date(),
	}
	if !x.Last.IsZero() && !x.Due.IsZero() && x.Due.Before(x.Last) {
		o.get("next_due").fail("%s lies before the last examination, %s: look at the report again", x.Due, x.Last)
	}
	return x
}

func (b *builder) readSlings(v val) {
	for _, e := range v.items(maxEntries) {
		o, ok := e.object("label", "range", "size", "state", "since", "last_examination", "next_due", "exceptional", "last_service")
		if !ok {
			continue
		}
		s := care.Sling{
			Label:    b.label(o, "S-014"),
			Range:    o.needText("range", maxLabel, "harbour-full"),
			Size:     o.needText("size", maxLabel, `"M"`),
			State:    needWord(o, "state", care.EquipmentStates),
			Since:    o.get("since").date(),
			Examined: examined(o),
		}
		b.checkSize(o, s.Range, s.Size)
		b.slings[s.Label] = s
		b.site.Slings = append(b.site.Slings, s)
	}
}

// checkSize sees that a range exists and comes in the size.
func (b *builder) checkSize(o obj, ref, size string) (care.Range, bool) {
	if ref == "" {
		return care.Range{}, false
	}
	g, ok := b.ranges[ref]
	if !ok {
		o.get("range").fail("there is no range %q: %s", ref, near(o.r, ref, b.ranges, "add it under ranges, or write the ref of one that is there"))
		return g, false
	}
	if _, ok := g.Size(size); size != "" && !ok {
		o.get("size").fail("the range %q has no size %q: write one of %s", ref, size, strings.Join(refsOf(g.Sizes, func(s care.Size) string { return s.Name }), ", "))
	}
	return g, true
}

func (b *builder) readHoists(v val) {
	for _, e := range v.items(maxEntries) {
		o, ok := e.object("label", "name", "kind", "attachment", "bar_points", "safe_working_load_kg", "bar_safe_working_load_kg", "state", "since", "last_examination", "next_due", "exceptional", "last_service")
		if !ok {
			continue
		}
		h := care.Hoist{
			Label:      b.label(o, "H-02"),
			Name:       o.get("name").text(maxName),
			Kind:       needWord(o, "kind", care.HoistKinds),
			Attachment: needWord(o, "attachment", care.Attachments),
			BarPoints:  o.get("bar_points").number(1, 12),
			Limit:      o.get("safe_working_load_kg").mass(),
			BarLimit:   o.get("bar_safe_working_load_kg").mass(),
			State:      needWord(o, "state", care.EquipmentStates),
			Since:      o.get("since").date(),
			Examined:   examined(o),
		}
		b.hoists[h.Label] = h
		b.site.Hoists = append(b.site.Hoists, h)
	}
}
