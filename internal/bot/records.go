package bot

import (
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/store"
)

// records answers a step's questions within its transaction. The first error is kept:
// a step cannot fail, so the turn asks for it afterwards and undoes everything.
type records struct {
	tx   *store.Tx
	site string
	// carer is the ref of a carer who asks, empty for a coordinator.
	carer string
	at    chat.Address
	err   error
}

func keep[T any](r *records, v T, err error) T {
	if err != nil && r.err == nil {
		r.err = err
	}
	return v
}

func keepFound[T any](r *records, v T, ok bool, err error) (T, bool) {
	return keep(r, v, err), ok
}

// LastNotes reads the newest notes about a client.
func (r *records) LastNotes(client string, limit int) []care.Note {
	v, err := r.tx.LastNotes(r.site, client, limit)
	return keep(r, v, err)
}

// Note reads a note.
func (r *records) Note(ref string) (care.Note, bool) {
	v, ok, err := r.tx.Note(r.site, ref)
	return keepFound(r, v, ok, err)
}

// Incident reads an incident.
func (r *records) Incident(ref string) (care.Incident, bool) {
	v, ok, err := r.tx.Incident(r.site, ref)
	return keepFound(r, v, ok, err)
}

// Plan reads a plan version.
func (r *records) Plan(client string, version int) (care.Plan, bool) {
	v, ok, err := r.tx.Plan(r.site, client, version)
	return keepFound(r, v, ok, err)
}

// Since reads what happened.
func (r *records) Since(clients []string, from, to time.Time) care.Since {
	v, err := r.tx.SinceFor(r.site, r.carer, clients, from, to)
	return keep(r, v, err)
}

// Change reads a change.
func (r *records) Change(id string) (care.Change, bool) {
	v, ok, err := r.tx.Change(r.site, id)
	return keepFound(r, v, ok, err)
}

// Changes reads the newest changes.
func (r *records) Changes(limit int) []care.Change {
	v, err := r.tx.Changes(r.site, limit)
	return keep(r, v, err)
}

// Unconfirmed reads what a person has not confirmed.
func (r *records) Unconfirmed(person string) []care.Change {
	v, err := r.tx.Unconfirmed(r.site, person)
	return keep(r, v, err)
}

// HandedOver reads what the last handover covered.
func (r *records) HandedOver(person string) (from, to time.Time) {
	from, to, err := r.tx.HandedOver(r.site, person)
	keep(r, from, err)
	return from, to
}

// Joined reports whether a person has joined.
func (r *records) Joined(person string) bool {
	v, err := r.tx.Joined(r.site, person)
	return keep(r, v, err)
}

// Unreachable lists who is gone.
func (r *records) Unreachable() []string {
	v, err := r.tx.Unreachable(r.site)
	return keep(r, v, err)
}

// EquipmentHistory reads what happened to a piece of equipment.
func (r *records) EquipmentHistory(label string, limit int) []care.EquipmentEvent {
	v, err := r.tx.EquipmentHistory(r.site, label, limit)
	return keep(r, v, err)
}

// ShownTo reads who has seen something of a client's plan.
func (r *records) ShownTo(client string, since time.Time) []string {
	v, err := r.tx.ShownTo(r.site, client, since)
	return keep(r, v, err)
}

// Undelivered counts what did not surely arrive.
func (r *records) Undelivered() map[string]int {
	v, err := r.tx.Undelivered(r.site)
	return keep(r, v, err)
}

// Weighings reads a client's weighings.
func (r *records) Weighings(client string, from care.Date) []care.Weighing {
	v, err := r.tx.Weighings(r.site, client, from)
	return keep(r, v, err)
}

// Pains reads what a client said of their pain.
func (r *records) Pains(client string, from time.Time) []care.Pain {
	v, err := r.tx.Pains(r.site, client, from)
	return keep(r, v, err)
}

// Happened reads the incidents of the site.
func (r *records) Happened(from time.Time) []care.Happened {
	v, err := r.tx.Happened(r.site, from)
	return keep(r, v, err)
}

// ToldOfOthers reports whether something about another client has arrived since.
func (r *records) ToldOfOthers(client string, after time.Time) bool {
	v, err := r.tx.ToldOfOthers(r.at, client, after)
	return keep(r, v, err)
}

// ChangeFor reads a change with one person's confirmation.
func (r *records) ChangeFor(id, person string) (care.Change, bool) {
	v, ok, err := r.tx.ChangeFor(r.site, id, person)
	return keepFound(r, v, ok, err)
}

// Base reads which version a person knows.
func (r *records) Base(id, person string) int {
	v, err := r.tx.Base(r.site, id, person)
	return keep(r, v, err)
}

// Versions reads every version of a plan.
func (r *records) Versions(client string) []care.PlanRecord {
	v, err := r.tx.Versions(r.site, client)
	return keep(r, v, err)
}

// PlanEvents reads what was done to a plan.
func (r *records) PlanEvents(client string) []care.PlanEvent {
	v, err := r.tx.PlanEvents(r.site, client)
	return keep(r, v, err)
}
