package sitefile

import (
	"bytes"
	"fmt"
	"io"
	"time"

	"go.yaml.in/yaml/v3"

	"samelift/internal/care"
)

// Write writes a site as a file that Read reads back to an equal site. Every value is
// quoted by the YAML encoder where it must be. Errors are those of w, or of a site
// whose zone cannot be loaded.
func Write(w io.Writer, s *care.Site) error {
	zone, err := time.LoadLocation(s.Zone)
	if err != nil {
		return fmt.Errorf("write site %s: %w", s.Ref, err)
	}
	var out bytes.Buffer
	enc := yaml.NewEncoder(&out)
	enc.SetIndent(2)
	if err := enc.Encode(siteNode(s, zone)); err != nil {
		return fmt.Errorf("write site %s: %w", s.Ref, err)
	}
	if err := enc.Close(); err != nil {
		return fmt.Errorf("write site %s: %w", s.Ref, err)
	}
	if _, err := w.Write(out.Bytes()); err != nil {
		return fmt.Errorf("write site %s: %w", s.Ref, err)
	}
	return nil
}

// fields builds a mapping in the order of its calls. What is unknown is left out.
type fields struct{ n *yaml.Node }

func mapping() fields { return fields{&yaml.Node{Kind: yaml.MappingNode}} }

func inline() fields { return fields{&yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle}} }

func (f fields) put(key string, value *yaml.Node) {
	if value != nil {
		f.n.Content = append(f.n.Content, scalar(key), value)
	}
}

// scalar is a text, which the encoder quotes where it would be read as something else.
func scalar(s string) *yaml.Node {
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: s}
}

// raw is a number or a day that stands in the file as it is.
func raw(s string) *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Value: s} }

func (f fields) text(key, s string) {
	if s != "" {
		f.put(key, scalar(s))
	}
}

func (f fields) number(key string, n int) {
	if n != 0 {
		f.put(key, raw(fmt.Sprint(n)))
	}
}

func (f fields) mass(key string, m care.Mass) {
	if m != 0 {
		f.put(key, raw(m.Kilograms()))
	}
}

func (f fields) date(key string, d care.Date) {
	if !d.IsZero() {
		f.put(key, raw(d.String()))
	}
}

// words writes somebody's words: plain, or with their language.
func (f fields) words(key string, t care.Text) {
	switch {
	case t.IsZero():
	case t.Lang == "":
		f.text(key, t.Words)
	default:
		f.put(key, wordsNode(t))
	}
}

func wordsNode(t care.Text) *yaml.Node {
	o := inline()
	o.text("lang", t.Lang)
	o.text("text", t.Words)
	return o.n
}

// list writes a list in lines of its own, or nothing where it is empty.
func list[T any](all []T, node func(T) *yaml.Node) *yaml.Node {
	if len(all) == 0 {
		return nil
	}
	n := &yaml.Node{Kind: yaml.SequenceNode}
	for _, x := range all {
		n.Content = append(n.Content, node(x))
	}
	return n
}

// flow writes a list of words in one line, or nothing where it is empty.
func flow[T ~string](all []T) *yaml.Node {
	n := list(all, func(s T) *yaml.Node { return scalar(string(s)) })
	if n != nil {
		n.Style = yaml.FlowStyle
	}
	return n
}

func siteNode(s *care.Site, zone *time.Location) *yaml.Node {
	head := mapping()
	head.text("ref", s.Ref)
	head.text("name", s.Name)
	head.text("zone", s.Zone)
	head.text("language", s.Lang)
	head.text("emergency_number", s.EmergencyNumber)
	// Both are written always: what a file leaves out stays as the store has it.
	names := "full"
	if s.InitialsOnly {
		names = "initials"
	}
	head.text("names", names)
	pictures := "yes"
	if s.NoPictures {
		pictures = "no"
	}
	head.text("pictures", pictures)
	head.put("handover_minutes", raw(fmt.Sprint(int(s.HandoverLead/time.Minute))))

	top := mapping()
	top.put("site", head.n)
	top.put("shifts", list(s.Shifts, shiftNode))
	top.put("people", list(s.People, personNode))
	top.put("ranges", list(s.Ranges, rangeNode))
	top.put("slings", list(s.Slings, slingNode))
	top.put("hoists", list(s.Hoists, hoistNode))
	top.put("clients", list(s.Clients, clientNode))
	top.put("plans", list(s.Plans, func(p care.Plan) *yaml.Node { return planNode(p, zone) }))
	return top.n
}

func shiftNode(s care.Shift) *yaml.Node {
	o := inline()
	o.text("name", s.Name)
	o.text("start", s.Start.String())
	o.text("end", s.End.String())
	return o.n
}

func personNode(p care.Person) *yaml.Node {
	o := mapping()
	o.text("ref", p.Ref)
	o.text("name", p.Name)
	o.text("role", string(p.Role))
	o.text("language", p.Lang)
	o.text("phone", p.Phone)
	o.put("shifts", flow(p.Shifts))
	o.put("cares_for", flow(p.CaresFor))
	o.put("sign_offs", list(p.SignOffs, func(s care.SignOff) *yaml.Node {
		so := inline()
		so.text("for", string(s.For))
		so.date("until", s.Until)
		return so.n
	}))
	if p.NoPictures {
		o.text("pictures", "no")
	}
	if p.Removed {
		o.text("state", "removed")
	}
	return o.n
}

func rangeNode(g care.Range) *yaml.Node {
	o := mapping()
	o.text("ref", g.Ref)
	o.text("name", g.Name)
	o.text("kind", string(g.Kind))
	o.text("attachment", string(g.Attachment))
	o.text("head_support", string(g.Head))
	o.put("points", list(g.Points, func(p care.RangePoint) *yaml.Node {
		po := mapping()
		po.text("point", string(p.Point))
		po.put("loops", list(p.Loops, func(l care.Loop) *yaml.Node {
			lo := inline()
			lo.text("colour", l.Colour)
			lo.number("length_mm", l.Length)
			return lo.n
		}))
		return po.n
	}))
	o.put("leg_straps", flow(g.LegStraps))
	o.put("sizes", list(g.Sizes, func(s care.Size) *yaml.Node {
		so := inline()
		so.text("name", s.Name)
		so.mass("safe_working_load_kg", s.Limit)
		if !s.Mass.IsZero() {
			m := inline()
			m.mass("from", s.Mass.From)
			m.mass("to", s.Mass.To)
			so.put("mass_kg", m.n)
		}
		so.span("back_length_mm", s.Back)
		so.span("hips_mm", s.Hips)
		return so.n
	}))
	return o.n
}

func (f fields) span(key string, s care.Span[int]) {
	if !s.IsZero() {
		o := inline()
		o.number("from", s.From)
		o.number("to", s.To)
		f.put(key, o.n)
	}
}

func (f fields) examined(e care.Examined) {
	f.date("last_examination", e.Last)
	f.date("next_due", e.Due)
	f.date("exceptional", e.Exceptional)
	f.date("last_service", e.Serviced)
}

func slingNode(s care.Sling) *yaml.Node {
	o := mapping()
	o.text("label", s.Label)
	o.text("range", s.Range)
	o.text("size", s.Size)
	o.text("state", string(s.State))
	o.date("since", s.Since)
	o.examined(s.Examined)
	return o.n
}

func hoistNode(h care.Hoist) *yaml.Node {
	o := mapping()
	o.text("label", h.Label)
	o.text("name", h.Name)
	o.text("kind", string(h.Kind))
	o.text("attachment", string(h.Attachment))
	o.number("bar_points", h.BarPoints)
	o.mass("safe_working_load_kg", h.Limit)
	o.mass("bar_safe_working_load_kg", h.BarLimit)
	o.text("state", string(h.State))
	o.date("since", h.Since)
	o.examined(h.Examined)
	return o.n
}

func clientNode(c care.Client) *yaml.Node {
	o := mapping()
	o.text("ref", c.Ref)
	o.text("name", c.Name)
	o.put("also", flow(c.Also))
	o.text("room", c.Room)
	o.mass("mass_kg", c.Mass)
	o.date("weighed", c.Weighed)
	o.put("weighings", list(c.Weighings, func(w care.Weighing) *yaml.Node {
		wo := inline()
		wo.date("on", w.On)
		wo.mass("mass_kg", w.Mass)
		return wo.n
	}))
	o.number("back_length_mm", c.BackLength)
	o.number("hips_mm", c.Hips)
	o.date("from_hospital", c.FromHospital)
	o.put("communication", flow(c.Says))
	o.words("communication_more", c.SaysMore)
	if c.Ended {
		o.text("state", "ended")
	}
	return o.n
}

// fromText writes an instant on the site's clock, or with its offset where the clock
// on the wall does not tell it: the second of a repeated hour, or odd seconds.
func fromText(t time.Time, zone *time.Location) string {
	local := t.In(zone)
	d, c := care.DateOf(local), care.Clock(local.Hour()*60+local.Minute())
	if !c.On(d, zone).Equal(t) {
		return t.UTC().Format(time.RFC3339Nano)
	}
	return local.Format("2006-01-02T15:04")
}

func planNode(p care.Plan, zone *time.Location) *yaml.Node {
	o := mapping()
	o.text("client", p.Client)
	o.number("version", p.Version)
	o.text("in_force_from", fromText(p.From, zone))
	if p.Draft {
		o.text("draft", "yes")
	}
	if p.Urgent {
		o.text("urgent", "yes")
	}
	o.text("author_role", p.AuthorRole)
	o.text("author", p.Author)
	o.words("reason", p.Reason)
	o.date("next_review", p.NextReview)
	o.put("cautions", list(p.Cautions, cautionNode))
	o.put("transfers", list(p.Transfers, transferNode))
	o.put("decisions", list(p.Decisions, func(d care.Decision) *yaml.Node {
		do := mapping()
		do.text("finding", d.Finding)
		do.text("about", d.About)
		do.text("transfer", d.Transfer)
		do.words("reason", d.Reason)
		do.text("assessor", d.Assessor)
		return do.n
	}))
	return o.n
}

func cautionNode(c care.Caution) *yaml.Node {
	if c == (care.Caution{Code: c.Code}) {
		return scalar(string(c.Code))
	}
	o := inline()
	o.text("code", string(c.Code))
	o.text("side", string(c.Side))
	o.text("part", string(c.Part))
	o.text("lang", c.Text.Lang)
	o.text("text", c.Text.Words)
	return o.n
}

func transferNode(t care.Transfer) *yaml.Node {
	o := mapping()
	o.text("from", string(t.From))
	o.text("to", string(t.To))
	if t.BothWays {
		o.text("both_ways", "yes")
	}
	sling := inline()
	sling.text("range", t.Range)
	sling.text("size", t.Size)
	sling.text("label", t.Label)
	sling.text("spare", t.Spare)
	if len(sling.n.Content) > 0 {
		o.put("sling", sling.n)
	}
	o.text("hoist", t.Hoist)
	if len(t.Loops) > 0 {
		loops := mapping()
		for _, l := range t.Loops {
			loops.put(string(l.Point), loopNode(l))
		}
		o.put("loops", loops.n)
	}
	o.text("leg_straps", string(t.LegStraps))
	o.text("arms", string(t.Arms))
	o.text("hoist_brakes", string(t.HoistBrakes))
	o.number("carers", t.Carers)
	o.date("one_carer_assessed", t.OneCarerAssessed)
	o.text("head_support", string(t.Head))
	o.put("bed", flow(t.BedSetUp))
	o.put("seat", flow(t.SeatSetUp))
	o.words("set_up_more", t.SetUpMore)
	o.text("sling_stays", string(t.Stays))
	o.put("steps", list(t.Steps, func(s care.Step) *yaml.Node {
		if s.Code != "" {
			return scalar(string(s.Code))
		}
		return wordsNode(s.Text)
	}))
	o.put("cautions", list(t.Cautions, cautionNode))
	return o.n
}

func loopNode(l care.PointLoops) *yaml.Node {
	if l.Left == l.Right && l.Left > 0 && l.Reason.IsZero() && l.Assessor == "" {
		return raw(fmt.Sprint(l.Left))
	}
	o := mapping()
	o.number("left", l.Left)
	o.number("right", l.Right)
	o.words("reason", l.Reason)
	o.text("assessor", l.Assessor)
	return o.n
}
