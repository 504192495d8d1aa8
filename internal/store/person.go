package store

import (
	"samelift/internal/care"
	"samelift/internal/chat"
)

// Who is a member of a site's team and where they are reached.
type Who struct {
	Site   string
	Person string
}

// At finds who has joined from an address; removed people are not found.
func (tx *Tx) At(a chat.Address) (Who, bool, error) {
	var w Who
	ok, err := tx.one(`SELECT site, ref FROM people WHERE transport = $1 AND chat = $2 AND removed = 0`, []any{a.Transport, a.Chat}, &w.Site, &w.Person)
	return w, ok, err
}

// Address gives where a person is reached; it reports false for somebody who has not
// joined, was removed, or is gone.
func (tx *Tx) Address(site, person string) (chat.Address, bool, error) {
	var a chat.Address
	ok, err := tx.one(`SELECT transport, chat FROM people WHERE site = $1 AND ref = $2 AND chat IS NOT NULL AND removed = 0 AND gone_at IS NULL`,
		[]any{site, person}, &a.Transport, &a.Chat)
	return a, ok, err
}

// Joined reports whether a person has joined and was not removed.
func (tx *Tx) Joined(site, person string) (bool, error) {
	var n int
	return tx.one(`SELECT 1 FROM people WHERE site = $1 AND ref = $2 AND chat IS NOT NULL AND removed = 0`, []any{site, person}, &n)
}

// Join lets a person in from an address. Whoever joined from that address before, or
// the same person from elsewhere, is let go: one phone is one person. What waits for
// the person goes to the new address; what waits for somebody else there is dropped.
func (tx *Tx) Join(site, person string, a chat.Address, lang string) error {
	for _, q := range []string{
		`DELETE FROM outbox WHERE state = 'queued' AND transport = $3 AND chat = $4 AND (site, person) IN (
			SELECT site, ref FROM people WHERE transport = $3 AND chat = $4 AND NOT (site = $1 AND ref = $2))`,
		// A message at the old address cannot be edited from the new one.
		`UPDATE outbox SET transport = $3, chat = $4, edits = NULL
			WHERE state = 'queued' AND site = $1 AND person = $2 AND NOT (transport = $3 AND chat = $4)`,
		`DELETE FROM conversations WHERE NOT (transport = $3 AND chat = $4) AND (transport, chat) IN (
			SELECT transport, chat FROM people WHERE site = $1 AND ref = $2)`,
		`UPDATE people SET transport = NULL, chat = NULL, gone_at = NULL
			WHERE transport = $3 AND chat = $4 AND NOT (site = $1 AND ref = $2)`,
	} {
		if err := tx.exec(q, site, person, a.Transport, a.Chat); err != nil {
			return err
		}
	}
	now := micros(tx.Now)
	if err := tx.exec(`UPDATE people SET transport = $3, chat = $4, lang = $5, joined_at = $6, gone_at = NULL, handed_over = $6, handed_from = $6
		WHERE site = $1 AND ref = $2`, site, person, a.Transport, a.Chat, lang, now); err != nil {
		return err
	}
	if err := tx.reviveStale(site, a); err != nil {
		return err
	}
	return tx.touch(site)
}

// SetLang keeps the language a person has chosen.
func (tx *Tx) SetLang(site, person, lang string) error {
	if err := tx.exec(`UPDATE people SET lang = $3 WHERE site = $1 AND ref = $2`, site, person, lang); err != nil {
		return err
	}
	return tx.touch(site)
}

// Remove takes a person's access away at once. Their records stay, their unsent
// messages go, and so does where their conversation stood.
func (tx *Tx) Remove(site, person string) error {
	for _, q := range []string{
		// An old card whose edit is thrown away is seen to when somebody joins there again.
		`UPDATE outbox SET stale = 2 WHERE id IN (SELECT edits FROM outbox WHERE site = $1 AND person = $2 AND state = 'queued' AND edits IS NOT NULL) AND stale = 1`,
		`DELETE FROM outbox WHERE site = $1 AND person = $2 AND state = 'queued'`,
		`DELETE FROM invitations WHERE site = $1 AND person = $2 AND used_at IS NULL`,
		`DELETE FROM conversations WHERE (transport, chat) IN (SELECT transport, chat FROM people WHERE site = $1 AND ref = $2)`,
		`UPDATE people SET removed = 1, transport = NULL, chat = NULL, gone_at = NULL WHERE site = $1 AND ref = $2`,
	} {
		if err := tx.exec(q, site, person); err != nil {
			return err
		}
	}
	return tx.touch(site)
}

// SetGone keeps that nothing reaches an address any more, or that it does again. The
// first time it plans a wake of the kind WakeUnreachable, so that somebody is told once.
func (tx *Tx) SetGone(a chat.Address, gone bool) error {
	if !gone {
		return tx.exec(`UPDATE people SET gone_at = NULL WHERE transport = $1 AND chat = $2`, a.Transport, a.Chat)
	}
	lost, err := list(tx, `UPDATE people SET gone_at = $3 WHERE transport = $1 AND chat = $2 AND gone_at IS NULL RETURNING site, ref`,
		[]any{a.Transport, a.Chat, micros(tx.Now)}, func(w *Who, scan func(...any) error) error { return scan(&w.Site, &w.Person) })
	if err != nil {
		return err
	}
	for _, w := range lost {
		if err := tx.SetWake(Wake{Site: w.Site, Kind: WakeUnreachable, Key: w.Person, Due: tx.Now}); err != nil {
			return err
		}
	}
	return nil
}

// Unreachable lists the people whom the messenger no longer reaches.
func (tx *Tx) Unreachable(site string) ([]string, error) {
	return list(tx, `SELECT ref FROM people WHERE site = $1 AND gone_at IS NOT NULL AND removed = 0 ORDER BY position`, []any{site},
		func(r *string, scan func(...any) error) error { return scan(r) })
}

func (tx *Tx) savePerson(site string, position int, p care.Person) error {
	if err := tx.exec(`INSERT INTO people (site, ref, position, name, role, lang, phone, shifts, sign_offs, removed, no_pictures) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, 0, $10)
		ON CONFLICT (site, ref) DO UPDATE SET name = $4, role = $5, lang = $6, phone = $7, shifts = $8, sign_offs = $9, no_pictures = $10`,
		site, p.Ref, position, p.Name, string(p.Role), p.Lang, p.Phone, toJSON(nonNil(p.Shifts)), toJSON(nonNil(p.SignOffs)), flag(p.NoPictures)); err != nil {
		return err
	}
	if err := tx.exec(`DELETE FROM cares_for WHERE site = $1 AND person = $2`, site, p.Ref); err != nil {
		return err
	}
	for i, c := range p.CaresFor {
		if err := tx.exec(`INSERT INTO cares_for (site, person, client, position) VALUES ($1, $2, $3, $4)`, site, p.Ref, c, i); err != nil {
			return err
		}
	}
	if p.Removed {
		return tx.Remove(site, p.Ref)
	}
	if p.Role != care.Coordinator {
		// What still waits to be sent about somebody who is not in their care any more.
		if err := tx.exec(`DELETE FROM outbox WHERE site = $1 AND person = $2 AND state = 'queued' AND client IS NOT NULL AND lane <> 5
			AND client NOT IN (SELECT client FROM cares_for WHERE site = $1 AND person = $2)`, site, p.Ref); err != nil {
			return err
		}
		// Whoever is given the client back is told anew what they have not confirmed.
		if err := tx.exec(`DELETE FROM confirmations WHERE site = $1 AND person = $2 AND confirmed_at IS NULL AND change IN (
			SELECT id FROM changes WHERE site = $1 AND client NOT IN (SELECT client FROM cares_for WHERE site = $1 AND person = $2))`, site, p.Ref); err != nil {
			return err
		}
	}
	return tx.exec(`UPDATE people SET removed = 0 WHERE site = $1 AND ref = $2`, site, p.Ref)
}
