// Package sitetest makes large invented sites for benchmarks and for loads. It leaves
// what a site may hold to care and sitefile.
package sitetest

import (
	"fmt"
	"time"

	"samelift/internal/care"
	"samelift/internal/sitefile"
)

// The names are put together from these; every pair is one client, so that a first or a
// last name alone always means several.
var (
	firsts = []string{"Alda", "Bero", "Cilla", "Dorin", "Elske", "Fenno", "Gerda", "Hadrik", "Ilva", "Jorun", "Katla", "Leddy", "Mirel", "Nenna", "Orvo", "Petra", "Quill", "Runa", "Sefton", "Tamsa", "Ulrik", "Vesna", "Wanda", "Xenia", "Ylva", "Zoran", "Abril", "Bodil", "Ciaro", "Delph", "Edda", "Finna", "Gudrun", "Hesper", "Ingo", "Jadwin", "Kolb", "Linnet", "Marzo", "Nilda"}
	lasts  = []string{"Ashgrove", "Birkmose", "Copperwell", "Dunmarsh", "Elderfield", "Farrowdale", "Greenholt", "Hollinsea", "Ivershaw", "Jarrowby", "Kestrelow", "Lambourne", "Merrivale", "Netherby", "Oakhanger", "Pennygate", "Quarrington", "Rushbrook", "Saltmarsh", "Thornicote", "Underhill", "Vanterpool", "Westerdale", "Yarrowfen", "Zellwood"}
	team   = []string{"Anka", "Bilal", "Carmen", "Dawit", "Ewa", "Farid", "Gloria", "Hanan", "Iwona", "Jamil"}
	houses = []string{"Ostrova", "Palmer", "Quintero", "Rahmani", "Sobczak", "Tesfaye", "Ubeda", "Vargas", "Walcott", "Younis", "Zajac", "Abara", "Bielak", "Cortes", "Dabrow", "Emeka", "Fakhri", "Gallego", "Hashem", "Jurado"}
	langs  = []string{"en", "es", "pl", "ar"}
)

// CaresFor is how many clients each carer of a large site cares for, at the most.
const CaresFor = 15

// Large makes a site with that many clients, at most 1,000, and carers, at most 200, and
// four coordinators. It has the ranges and hoists of the demo site. Each client has the
// plan of one of the demo's clients and a sling of their own; carers are c001 and so on,
// clients p0001 and so on, coordinators k1 to k4.
func Large(now time.Time, clients, carers int) *care.Site {
	demo, faults := sitefile.Read(sitefile.Demo(now), sitefile.Known{})
	if len(faults) > 0 {
		panic(faults[0]) // the demo site is ours and a test reads it
	}
	s := &care.Site{
		Ref: "large", Name: "Large House", Zone: demo.Zone, Lang: "en", EmergencyNumber: demo.EmergencyNumber,
		HandoverLead: demo.HandoverLead, Shifts: demo.Shifts, Ranges: demo.Ranges, Hoists: demo.Hoists,
	}
	// Only plans that the rules have nothing against: a stop in the demo is one of a kind.
	var models []care.Plan
	for _, p := range demo.Plans {
		if p.Client == "tilda" || p.Client == "rosa" {
			models = append(models, p)
		}
	}
	for i := range clients {
		model := models[i%len(models)]
		was, _ := demo.Client(model.Client)
		c := was
		c.Ref = fmt.Sprintf("p%04d", i+1)
		c.Name = firsts[i%len(firsts)] + " " + lasts[i/len(firsts)%len(lasts)]
		c.Also, c.Room = nil, fmt.Sprint(i+1)
		s.Clients = append(s.Clients, c)
		p := model
		p.Client, p.Transfers = c.Ref, nil
		for j, t := range model.Transfers {
			t.Label, t.Spare = fmt.Sprintf("S-%04d-%d", i+1, j+1), ""
			of, _ := demo.Sling(model.Transfers[j].Label)
			of.Label = t.Label
			s.Slings = append(s.Slings, of)
			p.Transfers = append(p.Transfers, t)
		}
		s.Plans = append(s.Plans, p)
	}
	for i := range carers {
		p := care.Person{
			Ref: fmt.Sprintf("c%03d", i+1), Name: team[i%len(team)] + " " + houses[i/len(team)%len(houses)],
			Role: care.Carer, Lang: langs[i%len(langs)], Shifts: []string{s.Shifts[i%len(s.Shifts)].Name},
		}
		for j := range min(CaresFor, clients) {
			p.CaresFor = append(p.CaresFor, s.Clients[(i*max(clients/max(carers, 1), 1)+j)%clients].Ref)
		}
		s.People = append(s.People, p)
	}
	for i, name := range []string{"Olena Brandt", "Marit Holm", "Sofia Lence", "Rafi Noor"} {
		s.People = append(s.People, care.Person{Ref: fmt.Sprintf("k%d", i+1), Name: name, Role: care.Coordinator, Lang: langs[i%len(langs)], Phone: "01632 960 300"})
	}
	return s
}
