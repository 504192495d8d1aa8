package rules

import (
	"slices"

	"samelift/internal/care"
)

// Suits finds where the sling, its loops and its leg straps are at odds with what the
// plan itself says about the person.
func Suits(site *care.Site, plan care.Plan, t care.Transfer) []Finding {
	g, ok := site.Range(t.Range)
	if !ok {
		return nil // said by Fit
	}
	cautions := cautionsOf(plan, t)
	out := HeadControl(g, cautions, t)
	out = append(out, Toileting(g, cautions, t)...)
	out = append(out, LegsAgainst(g, cautions, t)...)
	return append(out, Sits(g, cautions, t)...)
}

// HeadControl finds a person who cannot hold the head and a sling, or a plan, without
// support for it. Where the plan asks for support, Head has spoken already.
// Common practice, no source.
func HeadControl(g care.Range, cautions []care.Caution, t care.Transfer) []Finding {
	switch {
	case t.Head == care.Yes || !coded(cautions, "poor_head_control"):
		return nil
	case g.Head != care.Yes:
		return []Finding{{"head_control_no_support", Stop, map[string]any{"range": g.Name}, commonPractice}}
	case t.Head == care.No:
		return []Finding{{"head_control_plan_says_no", Caution, map[string]any{"range": g.Name}, commonPractice}}
	}
	return nil
}

// armParts are the parts whose weakness leaves an access sling without its hold.
var armParts = []care.BodyPart{care.Shoulder, care.Arm, care.Elbow, care.Hand}

// Toileting finds a toileting sling used for something else, or for a person whose
// trunk or arms do not hold.
// Sources: HSE, HSIS3, for very little support, and toileting only (seen); that trunk
// and arms must hold, and for those who lean or have seizures: from memory, unverified
// (handbook 3.4).
func Toileting(g care.Range, cautions []care.Caution, t care.Transfer) []Finding {
	if g.Kind != care.ToiletingSling {
		return nil
	}
	var out []Finding
	if !toileting(t) {
		out = append(out, Finding{"toileting_sling_elsewhere", Stop, map[string]any{"range": g.Name}, sourceHSIS3})
	}
	code := func(is func(care.Caution) bool) (care.CautionCode, bool) {
		if i := slices.IndexFunc(cautions, is); i >= 0 {
			return cautions[i].Code, true
		}
		return "", false
	}
	if c, ok := code(func(c care.Caution) bool {
		return c.Code == "poor_trunk_control" || c.Code == "may_let_go" || c.Code == "weakness" && slices.Contains(armParts, c.Part)
	}); ok {
		out = append(out, Finding{"toileting_sling_control", Stop, map[string]any{"range": g.Name, "caution": string(c)}, sourceAccess})
	}
	if c, ok := code(func(c care.Caution) bool { return c.Code == "may_lean" || c.Code == "seizures" || c.Code == "spasm" }); ok {
		out = append(out, Finding{"toileting_sling_doubt", Caution, map[string]any{"range": g.Name, "caution": string(c)}, sourceAccess})
	}
	return out
}

func toileting(t care.Transfer) bool {
	return t.To == care.Commode || t.To == care.Toilet || t.From == care.Commode || t.From == care.Toilet
}

// legParts are the parts whose loss changes what a leg strap holds.
var legParts = []care.BodyPart{"", care.Hip, care.Thigh, care.Knee, care.Leg, care.Foot, care.Heel}

// LegsAgainst finds leg straps at odds with hip precautions, an amputation or dignity.
// Source: handbook 3.3, after makers' leaflets (makers withheld), whom each suits partly
// from memory: each strap round its own thigh not with hip precautions unless assessed;
// both under the thighs, look at the hips; straps that do not hold the legs together
// let a person slide out more easily.
func LegsAgainst(g care.Range, cautions []care.Caution, t care.Transfer) []Finding {
	apart := t.LegStraps == care.LegsSeparate || t.LegStraps == care.LegsEachOwn
	legs := map[string]any{"legs": string(t.LegStraps)}
	var out []Finding
	if coded(cautions, "hip_precautions") {
		switch t.LegStraps {
		case care.LegsEachOwn:
			out = append(out, Finding{"legs_hip_precautions", Stop, legs, sourceLegs})
		case care.LegsUnderBoth:
			out = append(out, Finding{"legs_hips_look", Caution, legs, sourceLegs})
		}
	}
	lost := func(c care.Caution) bool { return c.Code == "amputation" && slices.Contains(legParts, c.Part) }
	both := func(c care.Caution) bool { return lost(c) && c.Side == care.BothSides }
	// A special sling, made for it, is the assessor's own answer.
	if g.Kind != care.OtherSling && t.LegStraps != "" && (apart && slices.ContainsFunc(cautions, lost) || slices.ContainsFunc(cautions, both)) {
		out = append(out, Finding{"legs_amputation", Caution, legs, sourceLegs})
	}
	if apart && !toileting(t) {
		severity := Advice
		if t.LegStraps == care.LegsEachOwn {
			severity = Caution
		}
		out = append(out, Finding{"legs_dignity", severity, legs, sourceLegs})
	}
	return out
}
