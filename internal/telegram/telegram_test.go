package telegram

import (
	"context"
	"log/slog"
	"strings"
	"testing"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"
)

func TestNew(t *testing.T) {
	good := Config{Token: testToken}
	tests := []struct {
		name   string
		change func(*Config)
		ok     bool
	}{
		{"as given out", func(*Config) {}, true},
		{"with a line end from a file", func(c *Config) { c.Token += "\n" }, true},
		{"none", func(c *Config) { c.Token = "" }, false},
		{"without its number", func(c *Config) { _, c.Token, _ = strings.Cut(c.Token, ":") }, false},
		{"cut short", func(c *Config) { c.Token = c.Token[:20] }, false},
		{"with a path in it", func(c *Config) { c.Token += "/../x" }, false},
		{"another address", func(c *Config) { c.API = "http://127.0.0.1:8081/" }, true},
		{"no address", func(c *Config) { c.API = "127.0.0.1:8081" }, false},
		{"a file's address", func(c *Config) { c.API = "file:///etc" }, false},
		{"an address with a query", func(c *Config) { c.API = "https://example.org/?x=1" }, false},
		{"an address with a password", func(c *Config) { c.API = "https://a:b@example.org" }, false},
	}
	for _, tt := range tests {
		cfg := good
		tt.change(&cfg)
		_, err := New(cfg)
		if (err == nil) != tt.ok {
			t.Errorf("%s: got %v", tt.name, err)
		}
		if err != nil {
			noSecrets(t, err.Error())
			if cfg.Token != "" && strings.Contains(err.Error(), cfg.Token) {
				t.Errorf("%s: the error shows the token", tt.name)
			}
		}
	}
}

// Even when somebody turns the library's debugging on, it shows no token and no text.
func TestLibraryIsQuiet(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	var l logs
	before := slog.Default()
	slog.SetDefault(slog.New(slog.NewTextHandler(&l, nil)))
	defer slog.SetDefault(before)
	api := tgbotapi.BotAPI{Token: testToken, Client: &wire{ctx: context.Background(), client: tr.client}, Debug: true}
	api.SetAPIEndpoint(tr.endpoint)
	if _, err := api.MakeRequest("sendMessage", tgbotapi.Params{"chat_id": f.person().Chat, "text": privateWord}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(l.String(), "not shown") {
		t.Errorf("the library did not log: %q", l.String())
	}
	noSecrets(t, l.String())
}
