//go:build browser

package cli

import "testing"

// A plan is suspended with one press: every phone says STOP in its own language, the
// old card too, and no button leads back to the old loops.
func TestBrowserSuspend(t *testing.T) {
	v := watch(t, 1400, 900, "")
	magda, youssef, elena := v.phone("magda", "pl"), v.phone("youssef", "ar"), v.phone("elena", "en")
	magda.write("jakie pętle dla pani Brannock z łóżka na fotel?")
	elena.write("Tilda bed to chair loops")
	elena.press(elena.word("plan.button.suspend"))
	elena.reads("that it is suspended", elena.word("suspend.done", "Version", 1), elena.word("plan.button.instead"))
	for _, p := range []phone{magda, youssef} {
		p.reads("STOP", p.word("suspended.title"), "Tilda Brannock", p.word("suspended.instead.none"), "Elena Marsh", p.word("change.confirm"))
	}
	youssef.wantLayout("ar rtl start rtl")
	v.until("the old card says so", magda.js1(`bots.some((b) => plain(b).includes(`+quote(magda.word("stale.button"))+`))`))
	v.shot("suspended")

	elena.press(elena.word("plan.button.instead"))
	elena.write("Stay in bed today. I come at 15:00.")
	elena.press(elena.word("form.save"))
	youssef.reads("what to do instead", youssef.word("suspended.instead"), "Stay in bed today.", youssef.word("own.language", "Language", youssef.word("language.en")))
	youssef.press(youssef.word("change.confirm"))
	youssef.reads("the thanks", youssef.word("change.confirmed.suspended", "Version", 1))
	elena.press(elena.word("plan.button.versions"))
	elena.reads("what was done", elena.word("versions.title"), elena.word("versions.acts"), "Stay in bed today.")
	v.shot("versions")
}

// A wrong answer to the read-back shows the plan again and asks again.
func TestBrowserReadBack(t *testing.T) {
	v := watch(t, 1400, 900, "")
	magda, youssef, elena := v.phone("magda", "pl"), v.phone("youssef", "ar"), v.phone("elena", "en")
	v.control(`[data-word="demo.publish"]`)
	magda.reads("the change", magda.word("change.title"))
	magda.press(magda.word("change.confirm"))
	wrong := magda.word("readback.loop", "Number", 3, "Colour", magda.word("colour.grey"))
	magda.press(wrong)
	magda.reads("the question again", magda.word("readback.loops", "Point", magda.word("point.leg")))
	magda.press(wrong)
	elena.reads("whom to phone", elena.word("readback.twice", "Name", "Magdalena Wójcik"), "Tilda Brannock")
	youssef.press(youssef.word("change.confirm"))
	v.shot("readback")
	youssef.write("٤")
	youssef.reads("the thanks", youssef.word("change.confirmed", "Version", 2))
}
