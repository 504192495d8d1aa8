package dialog

import (
	"samelift/internal/care"
	"samelift/internal/rules"
)

const flowFile = "sitefile"

// PreviewFile shows what a kept site file would change, with choices of that turn.
type PreviewFile struct {
	File string
	Turn int
}

// TakeFile imports a kept site file.
type TakeFile struct{ File string }

func (PreviewFile) effect() {}
func (TakeFile) effect()    {}

// FilePlan is a plan that a site file changes: Old is what the new version replaces, and
// has no version where there was none.
type FilePlan struct{ Old, New care.Plan }

// KeepFile keeps a site file that changes plans until the coordinator has seen what it
// changes:
//
//	file -> old beside new, findings, who will be told -> take it, or cancel
func KeepFile(s State, f Facts, file string) (State, []Effect) {
	if s.Form != nil {
		s = setAside(s)
	}
	s.Form = &Form{Flow: flowFile, Step: stepReview, File: file, Asked: map[string]bool{"file": true}}
	return filePrompt(s, f)
}

func filePrompt(s State, f Facts, before ...Line) (State, []Effect) {
	if f.Me.Role != care.Coordinator {
		s.Form = nil
		return s, []Effect{say(line("file.coordinator_only"))}
	}
	form := s.Form.clone()
	s.Turn++
	form.At = f.Now
	s.Form = &form
	var out []Effect
	if len(before) > 0 {
		out = append(out, say(before...))
	}
	return s, append(out, PreviewFile{File: form.File, Turn: s.Turn})
}

func fileAnswered(s State, f Facts, a answer, inPlace bool) (State, []Effect) {
	file := s.Form.File
	switch {
	case f.Me.Role != care.Coordinator:
		return filePrompt(s, f)
	case a.value == "take":
		s.Form = nil
		return s, []Effect{TakeFile{File: file}}
	case a.value == "cancel":
		return cancel(s, inPlace)
	}
	return filePrompt(s, f, line("form.use.buttons"))
}

func fileChoices(turn int, take bool) [][]Choice {
	var row []Choice
	if take {
		row = append(row, choice("planfile.take", Action{Do: "answer", Value: "take", Turn: turn}))
	}
	return rows(1, append(row, choice("form.cancel", Action{Do: "answer", Value: "cancel", Turn: turn}))...)
}

// FileRefused says why a kept file cannot be taken.
func FileRefused(lines []Line, turn int) Say {
	out := say(lines...)
	out.Choices = fileChoices(turn, false)
	return out
}

// shownPlans is how many changed plans are shown in full; a file with more is taken in
// smaller ones, since nobody reads that many at once.
const shownPlans = 8

// FilePreview shows old beside new of each plan that a file changes, what the rules find
// against what is changed, and who will be told. site is as it would be; others counts
// what else the file changes. A stop that nobody has decided leaves no way
// to take it, which is reported.
func FilePreview(f Facts, site *care.Site, plans []FilePlan, others, turn int) (Say, bool) {
	f.Site = site
	out := say(strong("planfile.review", "Number", len(plans)))
	if others > 0 {
		out.Lines = append(out.Lines, line("planfile.others", "Number", others))
	}
	stopped := false
	for i, p := range plans {
		c, _ := site.Client(p.New.Client)
		all := foundBetween(f, c, p.Old, p.New)
		never, open, decided := blocked(p.New, all)
		stopped = stopped || len(never)+len(open) > 0
		if i >= shownPlans && len(never)+len(open) == 0 {
			out.Lines = append(out.Lines, clientLine(Strong, site, c), line("plan.version.number", "Version", p.New.Version))
			continue
		}
		out.Lines = append(out.Lines, clientLine(Strong, site, c), line("change.from", "Version", p.New.Version, "From", p.New.From))
		if !p.New.Reason.IsZero() {
			out.Lines = append(append(out.Lines, line("plan.reason")), own(p.New.Reason)...)
		}
		if p.Old.Version > 0 {
			out.Lines = append(out.Lines, Differences(f, c, p.Old, p.New)...)
		} else {
			out.Lines = append(out.Lines, line("change.first"))
		}
		out.Lines = append(append(out.Lines, findingsOf(p.New, all)...), hangsOf(f, all)...)
		out.Lines = append(out.Lines, decisionLines(p.New, decided)...)
		out.Lines = append(out.Lines, audience(c.Ref, f)...)
	}
	if stopped {
		out.Lines = append(out.Lines, warn("planfile.blocked"))
	}
	out.Choices = fileChoices(turn, !stopped)
	return out, !stopped
}

// foundBetween gives the findings of the transfers that differ between two versions: of
// all where a caution of the whole plan does. They are looked at as things are today.
func foundBetween(f Facts, c care.Client, old, now care.Plan) []draftFindings {
	today := now
	today.From = f.Now
	var out []draftFindings
	for _, t := range now.Transfers {
		was, there := old.Transfer(t.Key())
		if there && sameTransfer(was, t) && sameList(old.Cautions, now.Cautions) {
			continue
		}
		out = append(out, draftFindings{t, rules.Check(f.Site, c, today, t, f.Now)})
	}
	return out
}
