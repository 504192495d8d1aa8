//go:build browser

package cli

import "testing"

// A wrong sling is a stop in the hand of whoever has it, a fault takes it out of use for
// everybody, and the coordinator hears of it, each in their own language.
func TestBrowserEquipment(t *testing.T) {
	v := watch(t, 1400, 900, "")
	magda, youssef, elena := v.phone("magda", "pl"), v.phone("youssef", "ar"), v.phone("elena", "en")
	magda.write("Tilda Brannock, łóżko na fotel, jakie pętle?")
	magda.write("mam nosidło S-021")
	magda.reads("that it is the wrong sling, first", magda.word("stop.title"), "S-021", "S-014")
	v.shot("equipment-wrong-sling")
	magda.write("S-014")
	magda.press(magda.word("equipment.button.wash"))
	magda.reads("the spare", "S-014", magda.word("why.in_wash"), "S-015")

	youssef.write("S-015")
	youssef.press(youssef.word("equipment.button.fault"))
	v.shot("equipment-fault-arabic")
	youssef.press(youssef.word("fault.stitches"))
	youssef.reads("that it is out of use and kept", youssef.word("equipment.keep.sling"))
	youssef.wantLayout("ar rtl start rtl")
	elena.reads("the fault, and that nothing is left for Tilda", "S-015", "Youssef Mansour", elena.word("fault.stitches"), "Tilda Brannock", "S-014", "S-015")
	elena.write("/equipment")
	elena.reads("what cannot be used first", elena.word("equipment.group.no"), "S-014", elena.word("equipment.group.yes"))
	v.shot("equipment-coordinator")
	magda.write("Tilda Brannock, łóżko na fotel, jakie pętle?")
	magda.reads("a stop", magda.word("stop.title"), "S-014", "S-015")
	v.shot("equipment-stop-polish")
}
