package sitefile_test

import (
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"samelift/internal/care"
)

func reference(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/sites/reference.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The reference is the documentation of the format, so nothing may be missing from it.
func TestReferenceUsesEveryField(t *testing.T) {
	site := mustRead(t, reference(t), nil)
	used, all := map[string]bool{}, map[string]bool{}
	walk(reflect.ValueOf(*site), used, all)
	for field := range all {
		if !used[field] {
			t.Errorf("the reference does not use %s", field)
		}
	}
	roundTrip(t, site)
}

// walk notes each field of the structs of care and whether it holds anything.
func walk(v reflect.Value, used, all map[string]bool) {
	switch v.Kind() {
	case reflect.Slice:
		for i := range v.Len() {
			walk(v.Index(i), used, all)
		}
	case reflect.Struct:
		switch v.Interface().(type) {
		case time.Time, care.Date:
			return
		}
		for i := range v.NumField() {
			if v.Type().Field(i).Tag.Get("json") == "-" {
				continue // what is no part of what an author writes
			}
			name := v.Type().Name() + "." + v.Type().Field(i).Name
			all[name] = true
			used[name] = used[name] || !v.Field(i).IsZero()
			walk(v.Field(i), used, all)
		}
	}
}

func TestReferenceNamesEveryWord(t *testing.T) {
	text := string(reference(t))
	for _, words := range [][]string{
		texts(care.Roles), texts(care.SlingKinds), texts(care.Attachments), texts(care.YesNos), texts(care.Points), texts(care.LegStrapsAll),
		texts(care.EquipmentStates), texts(care.HoistKinds), texts(care.Communications), texts(care.CautionCodes), texts(care.Sides), texts(care.BodyParts),
		texts(care.Places), texts(care.ArmsAll), texts(care.BrakesAll), texts(care.SetUps), texts(care.StepCodes),
	} {
		for _, w := range words {
			if !strings.Contains(text, w) {
				t.Errorf("the reference does not name %s", w)
			}
		}
	}
}

func texts[T ~string](all []T) []string {
	var out []string
	for _, x := range all {
		out = append(out, string(x))
	}
	return out
}

// The corpus of questions has a site of its own, without ranges and plans.
func TestQuestionSiteReads(t *testing.T) {
	data, err := os.ReadFile("../../testdata/questions/site.yaml")
	if err != nil {
		t.Fatal(err)
	}
	site := mustRead(t, data, nil)
	if len(site.Clients) == 0 || len(site.People[0].CaresFor) != len(site.Clients) {
		t.Errorf("cares_for: all gives %d of %d clients", len(site.People[0].CaresFor), len(site.Clients))
	}
	roundTrip(t, site)
}
