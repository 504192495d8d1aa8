package bot

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/dialog"
	"samelift/internal/store"
)

// InvitationLife is how long an invitation can be used.
const InvitationLife = 24 * time.Hour

// codeBytes gives 128 bits of chance, 22 characters in a link.
const codeBytes = 16

// hashOf is what is kept of a code.
func hashOf(code string) string {
	sum := sha256.Sum256([]byte(code))
	return hex.EncodeToString(sum[:])
}

// invite makes an invitation and returns its code, which is kept nowhere.
func (b *Bot) invite(tx *store.Tx, site, person, by string) (string, error) {
	raw := make([]byte, codeBytes)
	if _, err := io.ReadFull(b.Rand, raw); err != nil {
		return "", fmt.Errorf("make an invitation: %w", err)
	}
	code := base64.RawURLEncoding.EncodeToString(raw)
	return code, tx.Invite(site, person, by, hashOf(code), tx.Now.Add(InvitationLife))
}

// ErrNoPerson says that a site has nobody with that ref.
var ErrNoPerson = errors.New("the site has no such person, or the person was removed")

// Invite makes an invitation for the operator, who needs the first one.
func (b *Bot) Invite(ctx context.Context, site, person string) (code string, err error) {
	err = b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error {
		s, err := tx.Site(site)
		if err != nil {
			return err
		}
		if s == nil {
			return ErrNoPerson
		}
		if p, ok := s.Person(person); !ok || p.Removed {
			return ErrNoPerson
		}
		code, err = b.invite(tx, site, person, "operator")
		return err
	})
	return code, err
}

func (b *Bot) claim(tx *store.Tx, hash string, from chat.Address) (dialog.Claim, error) {
	_, err := tx.Claim(hash, from)
	switch {
	case err == nil:
		return dialog.Claimed, nil
	case errors.Is(err, store.ErrNoInvitation):
		return dialog.CodeUnknown, nil
	case errors.Is(err, store.ErrInvitationUsed):
		return dialog.CodeUsed, nil
	case errors.Is(err, store.ErrInvitationExpired):
		return dialog.CodeExpired, nil
	}
	return dialog.NoCode, err
}

func refusedCode(err error) (key string, known bool) {
	switch {
	case errors.Is(err, store.ErrNoInvitation):
		return "invitation.unknown", true
	case errors.Is(err, store.ErrInvitationUsed):
		return "invitation.used", true
	case errors.Is(err, store.ErrInvitationExpired):
		return "invitation.expired", true
	}
	return "", false
}

// remove takes a person's access away, and tells them that and nothing else.
func (b *Bot) remove(tx *store.Tx, site *care.Site, ref string) error {
	address, reached, err := tx.Address(site.Ref, ref)
	if err != nil {
		return err
	}
	p, _ := site.Person(ref)
	if err := tx.Remove(site.Ref, ref); err != nil || !reached {
		return err
	}
	t := b.turnOf(tx, nil, care.Person{Lang: p.Lang}, address, 0)
	_, err = t.say(dialog.Say{Lines: []dialog.Line{{Words: dialog.Words{Key: "removed.goodbye"}}}})
	return err
}

// plainDigits writes the digits of any script as 0 to 9, so that a typed number and a
// label match.
func plainDigits(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return '0' + rune(care.Digit(r))
		}
		return r
	}, s)
}
