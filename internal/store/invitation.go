package store

import (
	"errors"
	"time"

	"samelift/internal/chat"
)

// Why an invitation does not let anybody in.
var (
	ErrNoInvitation      = errors.New("there is no such invitation")
	ErrInvitationUsed    = errors.New("the invitation has been used")
	ErrInvitationExpired = errors.New("the invitation has expired")
)

// Invite keeps an invitation for a person by the hash of its code. Earlier ones for
// the same person end.
func (tx *Tx) Invite(site, person, by, hash string, expires time.Time) error {
	if err := tx.exec(`DELETE FROM invitations WHERE site = $1 AND person = $2 AND used_at IS NULL`, site, person); err != nil {
		return err
	}
	return tx.exec(`INSERT INTO invitations (hash, site, person, made_by, made_at, expires_at) VALUES ($1, $2, $3, $4, $5, $6)`,
		hash, site, person, by, micros(tx.Now), micros(expires))
}

// Claim ties an unused invitation to the address that shows it first, and says whom it
// is for. The same address may claim it again until it is used.
func (tx *Tx) Claim(hash string, a chat.Address) (Who, error) {
	var w Who
	var expires int64
	var used *int64
	var transport, from *string
	ok, err := tx.one(`SELECT site, person, expires_at, used_at, transport, chat FROM invitations WHERE hash = $1`, []any{hash},
		&w.Site, &w.Person, &expires, &used, &transport, &from)
	switch {
	case err != nil:
		return Who{}, err
	case !ok:
		return Who{}, ErrNoInvitation
	case used != nil, from != nil && (*transport != a.Transport || *from != a.Chat):
		return Who{}, ErrInvitationUsed
	case expires < micros(tx.Now):
		return Who{}, ErrInvitationExpired
	}
	return w, tx.exec(`UPDATE invitations SET transport = $2, chat = $3 WHERE hash = $1`, hash, a.Transport, a.Chat)
}

// Use ends the invitation that an address has claimed.
func (tx *Tx) Use(hash string, a chat.Address) (Who, error) {
	w, err := tx.Claim(hash, a)
	if err != nil {
		return Who{}, err
	}
	return w, tx.exec(`UPDATE invitations SET used_at = $2 WHERE hash = $1`, hash, micros(tx.Now))
}
