package dialog

import "samelift/internal/care"

// Joining, by somebody whom the bot does not know yet:
//
//	/start CODE -> language (each in its own script) -> privacy notice -> in
//
// Until the last step nothing is said about anybody, not even that a name exists.
const (
	flowJoin     = "join"
	stepLanguage = "language"
	stepPrivacy  = "privacy"
)

// Claim is what became of the code that somebody started with.
type Claim string

// What became of it.
const (
	NoCode      Claim = ""
	Claimed     Claim = "claimed"
	CodeUnknown Claim = "unknown"
	CodeUsed    Claim = "used"
	CodeExpired Claim = "expired"
)

// StepStranger advances the conversation of somebody who has not joined. Me carries
// only the language to answer in. The bot has claimed the code, if there was one, and
// gives its hash as ref.
func StepStranger(s State, e Event, f Facts, claim Claim, ref string) (State, []Effect) {
	switch claim {
	case Claimed:
		s = State{Turn: s.Turn, Form: &Form{Flow: flowJoin, Step: stepLanguage, Ref: ref, Lang: f.Me.Lang}}
		return promptJoin(s, f, false)
	case CodeUnknown, CodeUsed, CodeExpired:
		return s, []Effect{say(line("invitation." + string(claim)))}
	}
	if s.Form == nil || s.Form.Flow != flowJoin {
		return State{Turn: s.Turn}, []Effect{say(line("stranger.hello"))}
	}
	if e.Command == "cancel" {
		return State{Turn: s.Turn}, []Effect{say(line("stranger.hello"))}
	}
	value := ""
	if e.Action != nil && e.Action.Do == "answer" && e.Action.Turn == s.Turn {
		value = e.Action.Value
	}
	switch s.Form.Step {
	case stepLanguage:
		for _, l := range f.Langs {
			if value == l.Code {
				form := s.Form.clone()
				form.Step, form.Lang = stepPrivacy, l.Code
				s.Form = &form
				return promptJoin(s, f, true)
			}
		}
	case stepPrivacy:
		if value == "agree" {
			lang := s.Form.Lang
			return State{Turn: s.Turn}, []Effect{SetLang{lang}, Join{Lang: lang}}
		}
		if value == "cancel" {
			return State{Turn: s.Turn}, []Effect{SetLang{s.Form.Lang}, say(line("join.declined"))}
		}
	}
	return promptJoin(s, f, false)
}

func promptJoin(s State, f Facts, inPlace bool) (State, []Effect) {
	s.Turn = nextTurn(s.Turn, f.Now)
	effects := []Effect{SetLang{s.Form.Lang}}
	var out Say
	if s.Form.Step == stepLanguage {
		var all []Choice
		out = say(line("join.language"))
		for _, l := range f.Langs {
			all = append(all, as(l.Autonym, Action{Do: "answer", Turn: s.Turn, Value: l.Code}))
		}
		out.Choices = rows(1, all...)
	} else {
		out = say(strong("join.privacy.title"), line("join.privacy.who"), line("join.privacy.kept"), line("join.privacy.open"), line("join.privacy.phone"))
		out.Choices = rows(1,
			choice("join.agree", Action{Do: "answer", Turn: s.Turn, Value: "agree"}),
			choice("form.cancel", Action{Do: "answer", Turn: s.Turn, Value: "cancel"}))
	}
	out.InPlace = inPlace
	return s, append(effects, out)
}

// Welcome is what a person reads who has just joined. The words that no native speaker
// of the trade has signed are owned up to once, here.
func Welcome(f Facts, reviewed bool) []Effect {
	out := say(strong("join.welcome", "Name", f.Me.Name, "Site", f.Site.Name), line("help.ask"), line("help.record"))
	if !reviewed {
		out.Lines = append(out.Lines, small("join.not_reviewed"))
	}
	out.Lines = append(out.Lines, small("caution.plan_decides"))
	out.Choices = homeChoices(f)
	effects := []Effect{out}
	for _, c := range f.Records.Unconfirmed(f.Me.Ref) {
		effects = append(effects, tellChange(f, f.Me, c)...)
	}
	return effects
}

// homeChoices are the buttons for somebody who does not know what to do next.
func homeChoices(f Facts) [][]Choice {
	all := []Choice{
		choice("home.clients", Action{Do: "clients"}),
		choice("home.handover", Action{Do: "handover"}),
		choice("home.note", Action{Do: "note"}),
		choice("home.incident", Action{Do: "incident"}),
	}
	if f.Me.Role == care.Coordinator {
		all = append(all, choice("home.changes", Action{Do: "changes"}), choice("home.team", Action{Do: "team"}), choice("home.equipment", Action{Do: "equipment"}))
	}
	return rows(2, all...)
}
