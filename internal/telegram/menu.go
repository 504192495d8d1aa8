package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"unicode/utf8"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"
)

// Command is one line of the menu.
type Command struct {
	Name string // 1 to 32 of a-z, 0-9 and _, without the slash
	Text string // 1 to 256 runes
}

// CommandSet is what people whose app speaks one language see of the bot before they
// write to it.
type CommandSet struct {
	// Lang is a tag such as pl or pt-BR, of which the platform takes the first part
	// if that has two letters; empty is for everybody else.
	Lang     string
	Commands []Command
	// About is shown in an empty chat, at most 512 runes; Short on the bot's page, at
	// most 120. An empty one is left as it is.
	About, Short string
}

var (
	commandForm  = regexp.MustCompile(`^[a-z0-9_]{1,32}$`)
	languageForm = regexp.MustCompile(`^([a-z]{2})?(-|$)`)
	payloadForm  = regexp.MustCompile(`^[A-Za-z0-9_-]{1,64}$`)
)

// RegisterCommands tells the platform the menus, shown in private chats only, and the
// bot's descriptions. Languages that the platform has no code for are left out; their
// people see the set without a language. After an error it may be called again with
// the same sets and goes on where it stopped; *chat.RetryAfter may be among the errors.
func (t *Transport) RegisterCommands(ctx context.Context, sets []CommandSet) error {
	if err := checkSets(sets); err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, s := range sets {
		if !languageForm.MatchString(s.Lang) {
			continue
		}
		code := cut(s.Lang, 2)
		if seen[code] {
			continue
		}
		seen[code] = true
		type line struct {
			Command     string `json:"command"`
			Description string `json:"description"`
		}
		lines := []line{}
		for _, c := range s.Commands {
			lines = append(lines, line{c.Name, c.Text})
		}
		raw, err := json.Marshal(lines)
		if err != nil {
			return err
		}
		for _, c := range []struct{ method, field, value string }{
			{"setMyCommands", "commands", string(raw)},
			{"setMyDescription", "description", s.About},
			{"setMyShortDescription", "short_description", s.Short},
		} {
			if c.value == "" {
				continue
			}
			p := tgbotapi.Params{c.field: c.value}
			p.AddNonEmpty("language_code", code)
			if c.method == "setMyCommands" {
				p["scope"] = `{"type":"all_private_chats"}`
			}
			if err := t.register(ctx, c.method, p); err != nil {
				return err
			}
		}
	}
	return nil
}

// register makes a call unless the same one was accepted before.
func (t *Transport) register(ctx context.Context, method string, p tgbotapi.Params) error {
	raw, err := json.Marshal(p)
	if err != nil {
		return err
	}
	key := method + string(raw)
	t.mu.Lock()
	done := t.registered[key]
	t.mu.Unlock()
	if done {
		return nil
	}
	if _, err := t.post(ctx, method, p); err != nil {
		return t.meaning(err)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.registered[key] = true
	return nil
}

func checkSets(sets []CommandSet) error {
	within := func(s string, least, most int) bool {
		n := utf8.RuneCountInString(s)
		return n >= least && n <= most
	}
	for _, s := range sets {
		bad := slices.ContainsFunc(s.Commands, func(c Command) bool {
			return !commandForm.MatchString(c.Name) || !within(c.Text, 1, 256)
		})
		if bad || len(s.Commands) > 100 {
			return fmt.Errorf("telegram: language %q: a command's name or text is not as the platform wants it", s.Lang)
		}
		if !within(s.About, 0, 512) || !within(s.Short, 0, 120) {
			return fmt.Errorf("telegram: language %q: a description is too long", s.Lang)
		}
	}
	return nil
}

// Bot is the bot as the platform knows it.
type Bot struct {
	ID       int64
	Username string
	Name     string
}

// Me asks the platform which bot the token belongs to.
func (t *Transport) Me(ctx context.Context) (Bot, error) {
	result, err := t.post(ctx, "getMe", nil)
	if err != nil {
		return Bot{}, t.meaning(err)
	}
	var u tgbotapi.User
	if err := json.Unmarshal(result, &u); err != nil || u.UserName == "" {
		return Bot{}, errors.New("telegram: getMe: the result is not a bot")
	}
	return Bot{ID: u.ID, Username: u.UserName, Name: u.FirstName}, nil
}

// Link opens a chat with the bot; the payload arrives as "/start PAYLOAD". It is 1 to
// 64 letters, digits, _ or -.
func (b Bot) Link(payload string) (string, error) {
	if !payloadForm.MatchString(payload) {
		return "", errors.New("telegram: a link's payload is 1 to 64 letters, digits, _ or -, but this one has " +
			strconv.Itoa(len(payload)) + " bytes")
	}
	return "https://t.me/" + b.Username + "?start=" + payload, nil
}
