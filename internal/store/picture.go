package store

import (
	"time"

	"samelift/internal/chat"
)

// Picture reports whether the picture of a key is kept, and notes that it is wanted.
func (tx *Tx) Picture(key string) (bool, error) {
	var used int64
	ok, err := tx.one(`SELECT used_at FROM pictures WHERE key = $1`, []any{key}, &used)
	if err != nil || !ok {
		return false, err
	}
	// Once a day is enough to tell what is wanted from what is not.
	if tx.Now.Sub(instant(used)) < 24*time.Hour {
		return true, nil
	}
	return true, tx.exec(`UPDATE pictures SET used_at = $2 WHERE key = $1`, key, micros(tx.Now))
}

// SavePicture keeps a picture under a key that stands for all that is drawn in it.
func (tx *Tx) SavePicture(key string, png []byte) error {
	return tx.exec(`INSERT INTO pictures (key, png, used_at) VALUES ($1, $2, $3) ON CONFLICT (key) DO UPDATE SET used_at = $3`,
		key, png, micros(tx.Now))
}

// ForgetPictures drops the pictures that nobody has wanted since an instant, and that
// no message in the queue shows.
func (tx *Tx) ForgetPictures(before time.Time) error {
	return tx.exec(`DELETE FROM pictures WHERE used_at < $1 AND NOT EXISTS (
		SELECT 1 FROM outbox o WHERE o.state = 'queued' AND o.picture = pictures.key)`, micros(before))
}

// PictureSent keeps under which ref a transport has a picture.
func (tx *Tx) PictureSent(key, transport, ref string) error {
	return tx.exec(`INSERT INTO picture_refs (key, transport, ref) SELECT key, $2, $3 FROM pictures WHERE key = $1
		ON CONFLICT (key, transport) DO UPDATE SET ref = $3`, key, transport, ref)
}

// fillPicture gives a message on its way out the picture that its row only names. A
// message whose picture is gone goes without: its words are complete.
func (tx *Tx) fillPicture(out *chat.Outbound) error {
	if out.Picture == nil || out.Picture.Key == "" {
		return nil
	}
	p := *out.Picture
	var ref *string
	ok, err := tx.one(`SELECT p.png, r.ref FROM pictures p LEFT JOIN picture_refs r ON r.key = p.key AND r.transport = $2 WHERE p.key = $1`,
		[]any{p.Key, out.To.Transport}, &p.PNG, &ref)
	if err != nil {
		return err
	}
	p.Sent = deref(ref)
	out.Picture = &p
	if !ok {
		out.Picture = nil
	}
	return nil
}

// SetPictures keeps whether a person wants pictures.
func (tx *Tx) SetPictures(site, person string, without bool) error {
	if err := tx.exec(`UPDATE people SET no_pictures = $3 WHERE site = $1 AND ref = $2`, site, person, flag(without)); err != nil {
		return err
	}
	return tx.touch(site)
}
