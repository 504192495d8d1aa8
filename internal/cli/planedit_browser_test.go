//go:build browser

package cli

import "testing"

// A coordinator who reads Arabic changes a loop on her phone, and a carer who reads
// Polish is told on hers.
func TestBrowserChangePlanInArabic(t *testing.T) {
	v := watch(t, 1400, 900, "")
	magda, elena := v.phone("magda", "pl"), v.phone("elena", "en")
	elena.write("/language")
	elena.press("العربية")
	elena = v.phone("elena", "ar")
	elena.write("Tilda bed to chair loops")
	elena.press(elena.word("planedit.button"))
	v.shot("planedit-what")
	elena.press(elena.word("field.loops"))
	elena.press(elena.word("point.leg"))
	elena.wantLayout("ar rtl start rtl")
	v.shot("planedit-loops")
	elena.press(elena.word("planedit.loop.nth", "Number", 2, "Of", 4, "Colour", elena.word("colour.orange")))
	elena.press(elena.word("planedit.ordinary"))
	v.shot("planedit-when")
	elena.press(elena.word("planedit.from.now"))
	const reason = "الكرسي الجديد أعمق."
	elena.write(reason)
	elena.reads("old beside new, and who will be told", elena.word("planedit.review"), "Tilda Brannock", reason, elena.word("change.before"), elena.word("change.now"),
		elena.word("planedit.findings.none"), "Grace Mensah")
	v.shot("planedit-review")
	elena.press(elena.word("planedit.publish"))
	elena.reads("that it is published", elena.word("planedit.published", "Version", 2))
	magda.reads("the change", magda.word("change.title"), reason, magda.word("loop.nth", "Point", magda.word("point.leg"), "Number", 2, "Of", 4, "Colour", magda.word("colour.orange")))
	v.shot("planedit-told")
}
