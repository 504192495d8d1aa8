package dialog

import (
	"reflect"
	"strconv"
	"strings"
	"time"
	"unicode"

	"samelift/internal/care"
)

// A question is one named step of a flow.
type question struct {
	name string
	// title names the question in the list of what can be changed.
	title string
	// wanted reports whether it is asked at all; nil means always.
	wanted func(Form, Facts) bool
	// ask words it. The choices it offers carry a Value; the engine adds the rest.
	ask func(Form, Facts) Say
	// take puts an answer into the form, or says what is wrong with it.
	take func(*Form, Facts, answer) *Words
}

// An answer is a pressed value or typed words, never both.
type answer struct {
	value string
	typed string
}

// A flow is its questions in order, then the read-back, then what is kept.
type flow struct {
	name      string
	questions []question
	// review reads back what will be recorded.
	review func(Form, Facts) []Line
	// more reports whether the read-back offers to be asked everything.
	more func(Form) bool
	// save gives the records to keep and what is said then.
	save func(*State, Form, Facts) []Effect
}

// Names of the steps that every flow shares.
const (
	stepReview = "review"
	stepChange = "change"
)

func flows() []flow {
	return append([]flow{noteFlow(), incidentFlow(), correctionFlow(), planFlow()}, gearFlows()...)
}

func flowOf(name string) (flow, bool) {
	for _, f := range flows() {
		if f.name == name {
			return f, true
		}
	}
	return flow{}, false
}

// known reports whether this build knows the step that a stored form is at.
func known(f Form) bool {
	if f.Flow == flowJoin {
		return f.Step == stepLanguage || f.Step == stepPrivacy
	}
	if f.Flow == flowFile {
		return f.File != ""
	}
	if f.Flow == flowPlan {
		_, ok := planStepOf(f.Step)
		return ok && f.Plan != nil
	}
	fl, ok := flowOf(f.Flow)
	if !ok || f.Flow == "plan" && f.Note == nil || f.Flow == "note" && f.Note == nil || f.Flow == "incident" && f.Incident == nil {
		return false
	}
	if strings.HasPrefix(f.Flow, "gear_") && f.Piece == nil {
		return false
	}
	if f.Step == stepReview || f.Step == stepChange {
		return true
	}
	_, ok = fl.question(f.Step)
	return ok
}

func (fl flow) question(name string) (question, bool) {
	for _, q := range fl.questions {
		if q.name == name {
			return q, true
		}
	}
	return question{}, false
}

// start begins a flow. One that is under way is set aside as a draft.
//
//	start -> question -> question ... -> review -> saved
//	                        ^              |
//	                        +-- change <---+
func start(s State, f Facts, form Form) (State, []Effect) {
	if s.Form != nil {
		s = setAside(s)
	}
	form = form.clone()
	s.Form = &form
	return advance(s, f, false)
}

// setAside keeps the form under way as a draft. Only a form with something in it is
// worth keeping.
func setAside(s State) State {
	if s.Form != nil && s.Form.Flow != flowJoin && len(s.Form.Asked) > 0 {
		s.Draft = s.Form
	}
	s.Form = nil
	return s
}

// advance asks the next question, or reads back when none is left.
func advance(s State, f Facts, inPlace bool) (State, []Effect) {
	form := s.Form.clone()
	fl, _ := flowOf(form.Flow)
	form.Step = stepReview
	if !form.Return {
		for _, q := range fl.questions {
			if !form.Asked[q.name] && (q.wanted == nil || q.wanted(form, f)) {
				form.Step = q.name
				break
			}
		}
	}
	form.Return = false
	s.Form = &form
	return prompt(s, f, inPlace)
}

// mayGoOn gives what is said, and nothing else, to somebody who may no longer have what a
// form is about: since it was begun, their role or their clients can have changed.
func mayGoOn(form Form, f Facts) (refusal string) {
	_, theirs := mayAnswer(f, form.Client)
	switch {
	case form.Flow == "correction":
		if !mayCorrect(f, form.Ref) {
			return "record.unknown"
		}
	case form.Flow == flowFile && f.Me.Role != care.Coordinator:
		return "coordinator.only"
	case (form.Flow == "plan" || form.Flow == flowPlan) && (f.Me.Role != care.Coordinator || !theirs):
		return "coordinator.only"
	case form.Client != "" && !theirs:
		return "client.unknown"
	}
	return ""
}

// whose names the client of a form to somebody who may not have seen the name for long.
func whose(form Form, f Facts) []Line {
	if c, ok := mayAnswer(f, form.Client); ok {
		return []Line{clientLine(Strong, f.Site, c)}
	}
	return nil
}

// prompt asks the current question again, with fresh buttons.
func prompt(s State, f Facts, inPlace bool, before ...Line) (State, []Effect) {
	if refusal := mayGoOn(*s.Form, f); refusal != "" {
		s.Form = nil
		return s, []Effect{say(line(refusal))}
	}
	if s.Form.Flow == flowFile {
		return filePrompt(s, f, before...)
	}
	if s.Form.Flow == flowPlan {
		return planPrompt(s, f, inPlace, before...)
	}
	form := s.Form.clone()
	fl, _ := flowOf(form.Flow)
	var out Say
	switch form.Step {
	case stepReview:
		out = say(append([]Line{strong("form.review")}, fl.review(form, f)...)...)
		first := []Choice{choice("form.save", Action{Value: "save"}), choice("form.change", Action{Value: "change"})}
		if fl.more != nil && fl.more(form) {
			first = append(first, choice("form.more", Action{Value: "more"}))
		}
		out.Choices = rows(2, append(first, choice("form.cancel", Action{Value: "cancel"}))...)
	case stepChange:
		out = say(line("form.what.change"))
		var all []Choice
		for _, q := range fl.questions {
			if form.Asked[q.name] && (q.wanted == nil || q.wanted(form, f)) {
				all = append(all, choice(q.title, Action{Value: q.name}))
			}
		}
		out.Choices = rows(2, append(all, choice("form.back", Action{Value: "back"}))...)
	default:
		q, _ := fl.question(form.Step)
		out = q.ask(form, f)
	}
	return offer(s, f, form, out, inPlace, before)
}

// nextTurn numbers a question. A conversation that begins anew, after the person has left
// and come back or its state could not be read, begins at the seconds of its first
// question: so none of its numbers stands on a button from before.
func nextTurn(last int, now time.Time) int {
	if last == 0 {
		return int(now.Unix())
	}
	return last + 1
}

// offer asks a question with choices that answer this asking of it and no other.
func offer(s State, f Facts, form Form, out Say, inPlace bool, before []Line) (State, []Effect) {
	s.Turn = nextTurn(s.Turn, f.Now)
	form.At = f.Now
	if form.Client != "" {
		s = s.about(f, form.Client)
	}
	s.Form = &form
	for _, row := range out.Choices {
		for i := range row {
			if row[i].Does.Do == "" {
				row[i].Does.Do, row[i].Does.Turn = "answer", s.Turn
			}
		}
	}
	if n := len(before); n > 0 && len(out.Lines) > 0 && reflect.DeepEqual(before[n-1], out.Lines[0]) {
		before = before[:n-1]
	}
	out.Lines = append(before, out.Lines...)
	out.InPlace = inPlace
	return s, []Effect{out}
}

// answered takes an answer to the current question.
func answered(s State, f Facts, a answer, inPlace bool) (State, []Effect) {
	if refusal := mayGoOn(*s.Form, f); refusal != "" {
		s.Form = nil
		return s, []Effect{say(line(refusal))}
	}
	if s.Form.Flow == flowFile {
		return fileAnswered(s, f, a, inPlace)
	}
	if s.Form.Flow == flowPlan {
		return planAnswered(s, f, a, inPlace)
	}
	form := s.Form.clone()
	fl, _ := flowOf(form.Flow)
	s.Form = &form
	switch form.Step {
	case stepReview:
		switch a.value {
		case "save":
			s.Form = nil
			effects := fl.save(&s, form, f)
			return s, effects
		case "change":
			form.Step = stepChange
			return prompt(s, f, inPlace)
		case "more":
			form.Full = true
			return advance(s, f, inPlace)
		case "cancel":
			return cancel(s, inPlace)
		}
		return prompt(s, f, false, line("form.use.buttons"))
	case stepChange:
		if q, ok := fl.question(a.value); ok {
			delete(form.Asked, q.name)
			form.Step, form.Return = q.name, true
			return prompt(s, f, inPlace)
		}
		form.Step = stepReview
		return prompt(s, f, inPlace)
	}
	q, _ := fl.question(form.Step)
	if complaint := q.take(&form, f, a); complaint != nil {
		return prompt(s, f, false, Line{Style: Strong, Words: *complaint})
	}
	form.Asked[q.name] = true
	// An answer can make another question needed that was not asked before.
	if form.Return {
		for _, other := range fl.questions {
			if !form.Asked[other.name] && (other.wanted == nil || other.wanted(form, f)) {
				form.Return = false
			}
		}
	}
	return advance(s, f, inPlace)
}

// cancel throws the form away, on the person's own word only.
func cancel(s State, inPlace bool) (State, []Effect) {
	s.Form = nil
	out := say(line("form.cancelled"))
	out.InPlace = inPlace
	return s, []Effect{out}
}

// skip is the choice that passes an optional question.
func skip() Choice { return choice("form.skip", Action{Value: valueSkip}) }

const valueSkip = "-"

var complainChoose = &Words{Key: "form.use.buttons"}

// codes offers one button for each code, labelled by a key made of prefix and code.
func codes[T ~string](prefix string, all []T) []Choice {
	var out []Choice
	for _, c := range all {
		out = append(out, choice(prefix+string(c), Action{Value: string(c)}))
	}
	return out
}

// oneOf reads a code that was offered.
func oneOf[T ~string](all []T, value string) (T, bool) {
	for _, c := range all {
		if string(c) == value {
			return c, true
		}
	}
	return "", false
}

// number reads a whole number in the digits of any script, such as ٧.
func number(s string) (int, bool) {
	var b strings.Builder
	for _, r := range strings.TrimSpace(s) {
		if !unicode.IsDigit(r) {
			return 0, false
		}
		b.WriteString(strconv.Itoa(care.Digit(r)))
	}
	n, err := strconv.Atoi(b.String())
	return n, err == nil
}
