package store

import (
	"time"

	"samelift/internal/chat"
)

// Conversation reads where a conversation stands, or nil at its beginning.
func (tx *Tx) Conversation(a chat.Address) ([]byte, error) {
	var state string
	ok, err := tx.one(`SELECT state FROM conversations WHERE transport = $1 AND chat = $2`, []any{a.Transport, a.Chat}, &state)
	if err != nil || !ok {
		return nil, err
	}
	return []byte(state), nil
}

// SaveConversation keeps where a conversation stands.
func (tx *Tx) SaveConversation(a chat.Address, state []byte) error {
	return tx.exec(`INSERT INTO conversations (transport, chat, state, changed_at) VALUES ($1, $2, $3, $4)
		ON CONFLICT (transport, chat) DO UPDATE SET state = $3, changed_at = $4`, a.Transport, a.Chat, string(state), micros(tx.Now))
}

// Forget drops the ids of messages that were taken before an instant. No transport
// delivers a message again after that long: the messenger keeps one for 24 hours.
func (tx *Tx) Forget(before time.Time) error {
	return tx.exec(`DELETE FROM inbox WHERE taken_at < $1`, micros(before))
}

// Take puts a message's id into the inbox. It reports false for one that was taken
// before, which must then have no effect.
func (tx *Tx) Take(transport, id string) (bool, error) {
	n, err := tx.affect(`INSERT INTO inbox (transport, id, taken_at) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING`, transport, id, micros(tx.Now))
	return n == 1, err
}
