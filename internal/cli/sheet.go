package cli

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"regexp"
)

// Sheet writes a client's plan for the folder by the bed.
type Sheet struct {
	Database
	Site   string `help:"The site, where the database has several." placeholder:"REF"`
	Client string `required:"" help:"The ref of the client in the site file." placeholder:"REF"`
	Lang   string `help:"The language of the sheet; the site's if left out." placeholder:"CODE"`
	Bot    string `help:"The bot's name on Telegram, so that the code opens it; without it the code is to be written to the bot." placeholder:"NAME"`
	Out    string `help:"Where to write; standard output if left out." placeholder:"FILE"`
}

// botName is the form of a bot's name.
var botName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_]{4,31}$`)

// Run writes one HTML page that needs nothing else, to be printed from any browser.
func (c *Sheet) Run(e *Env) error {
	if _, err := os.Stat(c.DB); errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("there is no database %s: name it with --db, or make one with samelift import FILE", c.DB)
	}
	var link func(string) string
	if c.Bot != "" {
		if !botName.MatchString(c.Bot) {
			return usageError{errors.New("--bot takes the name of a bot without the @, such as larch_house_bot")}
		}
		link = func(code string) string { return "https://t.me/" + c.Bot + "?start=" + code }
	}
	h, err := e.build(c.DB, e.now)
	if err != nil {
		return err
	}
	defer h.store.Close()
	ref, err := onlySite(e.ctx, h.store, e.now(), c.Site)
	if err != nil {
		return err
	}
	if c.Lang != "" && !h.words.Has(c.Lang) {
		var have []string
		for _, l := range h.words.Languages() {
			have = append(have, l.Code)
		}
		return usageError{fmt.Errorf("--lang takes one of %v", have)}
	}
	page, err := h.bot.Sheet(e.ctx, ref, c.Client, c.Lang, link)
	if err != nil {
		return fmt.Errorf("make the sheet: %w", err)
	}
	var out bytes.Buffer
	if err := page.Write(&out); err != nil {
		return fmt.Errorf("lay out the sheet: %w", err)
	}
	if c.Out == "" || c.Out == "-" {
		_, err = e.stdout.Write(out.Bytes())
		return err
	}
	// A sheet names a person: only its owner may read it.
	return os.WriteFile(c.Out, out.Bytes(), 0o600)
}
