package dialog_test

import (
	"strings"
	"testing"

	"samelift/internal/chat"
	"samelift/internal/dialog"
)

// However long a name is, the room stays on the button: it is what tells two apart.
func TestTheRoomStaysOnALabel(t *testing.T) {
	site := demoSite(t)
	for i := range site.Clients {
		site.Clients[i].Name = strings.Repeat("Ma", 40)
		if i%2 == 0 {
			site.Clients[i].Name = "Rosa"
			site.Clients[i].Room = "The Larches, first floor, number " + string(rune('a'+i))
		}
	}
	_, effects := dialog.Step(dialog.State{}, dialog.Event{Command: "clients"}, factsOf(site, "elena", planNow))
	seen := map[string]bool{}
	for _, row := range effects[0].(dialog.Say).Choices {
		for _, c := range row {
			client, ok := site.Client(c.Does.Client)
			if !ok {
				continue
			}
			name, room := c.Label.Args["Client"].(string), c.Label.Args["Room"].(string)
			if n := len([]rune(name + room)); n > chat.MaxLabel-8 {
				t.Errorf("%d runes of a name and a room on one button", n)
			}
			if len(client.Room) < 4 && room != client.Room {
				t.Errorf("the room %q is %q on the button", client.Room, room)
			}
			seen[name+room] = true
		}
	}
	if len(seen) == 0 {
		t.Error("no clients are offered")
	}
}
