package rules

import (
	"cmp"
	"slices"
	"time"

	"samelift/internal/care"
)

// ItemKind is what a part of a handover is about.
type ItemKind string

// The kinds in the order in which a handover says them. What may hurt somebody in the
// next hour comes first. Common practice, no source; that incidents, changed plans,
// pain, skin and equipment belong in it at all: handbook 7, after WHO Patient Safety
// Solutions, vol 1 sol 3 (2007).
const (
	ItemIncident  ItemKind = "incident"
	ItemChange    ItemKind = "change"
	ItemNotDone   ItemKind = "not_done"
	ItemPain      ItemKind = "pain"
	ItemBadly     ItemKind = "badly_borne"
	ItemSkin      ItemKind = "skin"
	ItemDifferent ItemKind = "different"
	ItemEquipment ItemKind = "equipment"
	ItemRest      ItemKind = "rest"
	ItemQuiet     ItemKind = "quiet"
)

// ItemKinds lists every kind in that order.
var ItemKinds = []ItemKind{ItemIncident, ItemChange, ItemNotDone, ItemPain, ItemBadly, ItemSkin, ItemDifferent, ItemEquipment, ItemRest, ItemQuiet}

// PainHigh is the pain from which a handover speaks of it whether or not it rose.
// Bands of pain are not universal; this is where the common teaching calls it moderate
// (from memory, unverified). The number itself is what is handed over.
const PainHigh = 4

// Item is one part of a handover. The fields that do not belong to its kind are zero.
type Item struct {
	Kind ItemKind
	// Client is the ref of the client, empty for an incident about no client, for
	// equipment and for the quiet ones.
	Client string
	// Clients are, for ItemEquipment, those whose plan uses it and, for ItemQuiet, those
	// with nothing new, in the site's order.
	Clients  []string
	Incident *care.Incident
	Change   *care.Change
	// Unconfirmed says that the person has not confirmed the change; for a coordinator,
	// that somebody has not.
	Unconfirmed bool
	// Note is what the item is about; each note is handed over once, in the first kind
	// that it gives. Gives lists all of them.
	Note  *care.Note
	Gives []ItemKind
	// PainBefore is the pain told before in this handover, nil if none was.
	PainBefore *int
	// Rest are, for ItemRest, the client's other notes, oldest first.
	Rest []care.Note
	// Label, Why and Due tell of equipment: why it may not be used, empty if it may, and
	// when its next examination is due, zero if unknown.
	Label string
	Why   string
	Due   care.Date
}

// Handover gives what a person taking over has to hear, in a fixed order: the order of
// ItemKinds, and within one kind the gravest or the not yet confirmed first and then
// the newest. Only clients whom the person may see are spoken of.
func Handover(site *care.Site, person care.Person, since care.Since) []Item {
	clients := site.ClientsOf(person)
	place := map[string]int{}
	for i, c := range clients {
		place[c.Ref] = i + 1
	}
	var out []Item
	out = append(out, incidentItems(person, since, place)...)
	out = append(out, changeItems(person, since, place)...)
	notes, rest := noteItems(since, place)
	out = append(out, notes...)
	out = append(out, equipmentItems(site, clients, since.To)...)
	out = append(out, rest...)

	told := map[string]bool{}
	for _, it := range out {
		told[it.Client] = true
		for _, ref := range it.Clients {
			told[ref] = true
		}
	}
	quiet := Item{Kind: ItemQuiet}
	for _, c := range clients {
		if !told[c.Ref] {
			quiet.Clients = append(quiet.Clients, c.Ref)
		}
	}
	if len(quiet.Clients) > 0 {
		out = append(out, quiet)
	}
	return out
}

// harmOrder puts what is not known yet right after severe: it may be either.
var harmOrder = []care.Harm{care.HarmDeath, care.HarmSevere, care.HarmNotKnown, "", care.HarmModerate, care.HarmMild, care.HarmNone}

func incidentItems(person care.Person, since care.Since, place map[string]int) []Item {
	var out []Item
	for _, in := range since.Incidents {
		// An incident about no client concerns the place: its coordinators hear of it.
		if place[in.Client] > 0 || in.Client == "" && person.Role == care.Coordinator && !person.Removed {
			out = append(out, Item{Kind: ItemIncident, Client: in.Client, Incident: &in})
		}
	}
	slices.SortStableFunc(out, func(a, b Item) int {
		return cmp.Or(cmp.Compare(slices.Index(harmOrder, a.Incident.Harm), slices.Index(harmOrder, b.Incident.Harm)), b.Incident.At.Compare(a.Incident.At))
	})
	return out
}

func changeItems(person care.Person, since care.Since, place map[string]int) []Item {
	var out []Item
	for _, ch := range since.Changes {
		if place[ch.Client] > 0 {
			out = append(out, Item{Kind: ItemChange, Client: ch.Client, Change: &ch, Unconfirmed: unconfirmed(person, ch)})
		}
	}
	slices.SortStableFunc(out, func(a, b Item) int {
		if a.Unconfirmed != b.Unconfirmed {
			if a.Unconfirmed {
				return -1
			}
			return 1
		}
		return b.Change.At.Compare(a.Change.At)
	})
	return out
}

func unconfirmed(person care.Person, ch care.Change) bool {
	if ch.Old {
		return false // a newer one says it all
	}
	for _, c := range ch.Told {
		if c.At.IsZero() && (c.Person == person.Ref || person.Role == care.Coordinator) {
			return true
		}
	}
	// Somebody who was never told has not confirmed either.
	return person.Role == care.Carer && !slices.ContainsFunc(ch.Told, func(c care.Confirmation) bool { return c.Person == person.Ref })
}

// noteItems sorts the notes into what is handed over one by one and, for each client,
// the rest.
func noteItems(since care.Since, place map[string]int) (items, rest []Item) {
	notes := slices.Clone(since.Notes)
	slices.SortStableFunc(notes, func(a, b care.Note) int { return a.At.Compare(b.At) })
	pain := map[string]*int{}
	restOf := map[string][]care.Note{}
	for _, n := range notes {
		if place[n.Client] == 0 {
			continue
		}
		before := pain[n.Client]
		if n.Pain != nil {
			pain[n.Client] = n.Pain
		}
		gives := Gives(n, before)
		if len(gives) == 0 {
			restOf[n.Client] = append(restOf[n.Client], n)
			continue
		}
		items = append(items, Item{Kind: gives[0], Client: n.Client, Note: &n, Gives: gives, PainBefore: before})
	}
	slices.SortStableFunc(items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(slices.Index(ItemKinds, a.Kind), slices.Index(ItemKinds, b.Kind)), cmp.Compare(weight(b), weight(a)), b.Note.At.Compare(a.Note.At))
	})
	for ref, notes := range restOf {
		rest = append(rest, Item{Kind: ItemRest, Client: ref, Rest: notes})
	}
	slices.SortFunc(rest, func(a, b Item) int { return cmp.Compare(place[a.Client], place[b.Client]) })
	return items, rest
}

// weight orders notes of one kind: more pain, worse skin.
func weight(it Item) int {
	switch {
	case it.Kind == ItemPain:
		return *it.Note.Pain
	case it.Kind == ItemSkin && it.Note.Skin == care.SkinBroken:
		return 1
	}
	return 0
}

// Gives lists what a note gives to hand over one by one, given the pain told before.
func Gives(n care.Note, painBefore *int) []ItemKind {
	var out []ItemKind
	if n.Outcome == care.Refused || n.Outcome == care.NotDone {
		out = append(out, ItemNotDone)
	}
	if n.Pain != nil && (*n.Pain >= PainHigh || painBefore != nil && *n.Pain > *painBefore) {
		out = append(out, ItemPain)
	}
	if n.Borne == care.BorneBadly {
		out = append(out, ItemBadly)
	}
	if n.Skin == care.SkinRed || n.Skin == care.SkinBroken || n.Skin == care.SkinBruise {
		out = append(out, ItemSkin)
	}
	if n.Outcome == care.Changed || n.Difference != "" {
		out = append(out, ItemDifferent)
	}
	return out
}

// equipmentItems tells of the hoists, slings and spares in the clients' plans that may
// not be used, or whose examination falls due within a week.
func equipmentItems(site *care.Site, clients []care.Client, at time.Time) []Item {
	today := care.DateOf(at.In(site.Location()))
	var out []Item
	index := map[string]int{}
	tell := func(client, label, why string, due care.Date) {
		i, ok := index[label]
		if !ok {
			i = len(out)
			index[label] = i
			out = append(out, Item{Kind: ItemEquipment, Label: label, Why: why, Due: due})
		}
		if !slices.Contains(out[i].Clients, client) {
			out[i].Clients = append(out[i].Clients, client)
		}
	}
	look := func(client, label string, known bool, state care.EquipmentState, e care.Examined) {
		if label == "" {
			return
		}
		why, due := WhyNotKnown, care.Date{}
		if known {
			why, due = Unusable(state, e, today), Due(e)
		}
		if why != "" || today.DaysUntil(due) <= soon {
			tell(client, label, why, due)
		}
	}
	for _, c := range clients {
		plan, ok := site.PlanAt(c.Ref, at)
		if !ok {
			continue
		}
		for _, t := range plan.Transfers {
			h, ok := site.Hoist(t.Hoist)
			look(c.Ref, t.Hoist, ok, h.State, h.Examined)
			for _, label := range []string{t.Label, t.Spare} {
				s, ok := site.Sling(label)
				look(c.Ref, label, ok, s.State, s.Examined)
			}
		}
	}
	// What may not be used comes before what falls due.
	slices.SortStableFunc(out, func(a, b Item) int {
		if (a.Why == "") != (b.Why == "") {
			if a.Why != "" {
				return -1
			}
			return 1
		}
		return 0
	})
	return out
}
