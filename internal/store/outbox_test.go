package store_test

import (
	"samelift/internal/chat"
	"samelift/internal/store"
)

// queue keeps a message for a person of the demo site.
func queue(tx *store.Tx, person string, lane store.Lane, text string) error {
	_, err := tx.Enqueue(message(person, lane, text))
	return err
}

func message(person string, lane store.Lane, text string) store.Message {
	return store.Message{Site: "larch", Person: person, Lane: lane, Out: chat.Outbound{To: at(person), Body: []chat.Paragraph{{Text: text}}}}
}
