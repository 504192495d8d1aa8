package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"samelift/internal/care"
	"samelift/internal/dialog"
	"samelift/internal/locale"
	"samelift/internal/rules"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// Database names the file that everything is kept in.
type Database struct {
	DB string `name:"db" default:"samelift.db" env:"SAMELIFT_DB" help:"The database file." placeholder:"FILE"`
}

// Import takes a site file in.
type Import struct {
	Database
	Check bool   `help:"Only check the file and change nothing."`
	File  string `arg:"" help:"The site file, or - for standard input."`
}

// Run checks everything first, and writes all or nothing.
func (c *Import) Run(e *Env) error {
	data, err := e.read(c.File)
	if err != nil {
		return err
	}
	h, err := e.build(c.DB, e.now)
	if err != nil {
		return err
	}
	defer h.store.Close()
	have, err := h.siteFor(e, data)
	if err != nil {
		return err
	}
	site, faults := sitefile.Read(data, h.bot.Known(have))
	if len(faults) > 0 {
		for _, f := range faults {
			field := ""
			if f.Field != "" {
				field = f.Field + ": "
			}
			fmt.Fprintf(e.stderr, "%s:%d:%d: %s%s\n", c.File, f.Line, f.Column, field, f.Problem)
		}
		if len(faults) == 1 {
			return errors.New("1 fault: nothing was changed; mend it and import the file again")
		}
		return fmt.Errorf("%d faults: nothing was changed; mend them and import the file again", len(faults))
	}
	if c.Check {
		fmt.Fprintln(e.stdout, "The file has no faults. Nothing was changed.")
		return h.warn(e, site)
	}
	im, err := h.bot.Import(e.ctx, site)
	if err != nil {
		return err
	}
	for _, label := range im.Kept {
		fmt.Fprintf(e.stdout, "%s: the chat has a newer word about this piece, and the file's was not taken. A coordinator changes it in the chat: /equipment\n", label)
	}
	if im.Nothing() {
		fmt.Fprintln(e.stdout, "Nothing has changed: the file says what is known already.")
		return nil
	}
	fmt.Fprintf(e.stdout, "Site %s: %d added, %d altered, %d plan versions.\n", site.Ref, im.Added, im.Altered, len(im.Plans))
	for _, p := range im.Plans {
		if p.Before > 0 {
			fmt.Fprintf(e.stdout, "Plan of %s: version %d is now version %d; its carers are being told.\n", p.Client, p.Before, p.After)
		}
	}
	err = h.store.View(e.ctx, e.now(), func(tx *store.Tx) error {
		site, err = tx.Site(site.Ref)
		return err
	})
	if err != nil {
		return err
	}
	return h.warn(e, site)
}

// warn says what is no fault of the file and yet stands in the way of a transfer.
func (h *house) warn(e *Env, site *care.Site) error {
	for _, w := range sitefile.Warnings(site, e.now()) {
		if w.Severity < rules.Caution {
			continue
		}
		text, err := h.bot.Word(locale.Default, site.Location(), dialog.FindingWords(w.Finding))
		if err != nil {
			return err
		}
		fmt.Fprintf(e.stdout, "%s: plan of %s, version %d, %s: %s\n", w.Severity, w.Client, w.Version, w.Transfer, text)
	}
	for _, p := range site.Plans {
		for _, t := range p.Transfers {
			for _, w := range dialog.PostureConcerns(site, t) {
				text, err := h.bot.Word(locale.Default, site.Location(), w)
				if err != nil {
					return err
				}
				fmt.Fprintf(e.stdout, "estimate, assess in person: plan of %s, version %d, %s: %s\n", p.Client, p.Version, t.Key(), text)
			}
		}
	}
	return nil
}

// siteFor gives the site that a file is about as the store has it, or nil.
func (h *house) siteFor(e *Env, data []byte) (site *care.Site, err error) {
	ref := sitefile.Ref(data)
	err = h.store.View(e.ctx, e.now(), func(tx *store.Tx) error {
		site, err = tx.Site(ref)
		return err
	})
	return site, err
}

// read reads a file, never more than a site file may have.
func (e *Env) read(name string) ([]byte, error) {
	in := e.stdin
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, fmt.Errorf("open the file: %w", err)
		}
		defer f.Close()
		in = f
	}
	return io.ReadAll(io.LimitReader(in, sitefile.MaxBytes+1))
}

// Export writes a site as a file.
type Export struct {
	Database
	Site string `help:"The site, where the database has several." placeholder:"REF"`
	File string `arg:"" optional:"" help:"Where to write; standard output if left out."`
}

// Run writes what imports to the same site.
func (c *Export) Run(e *Env) error {
	s, err := openExisting(e, c.DB)
	if err != nil {
		return err
	}
	defer s.Close()
	ref, err := onlySite(e.ctx, s, e.now(), c.Site)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	err = s.View(e.ctx, e.now(), func(tx *store.Tx) error {
		site, err := tx.Written(ref)
		if err != nil {
			return err
		}
		return sitefile.Write(&out, site)
	})
	if err != nil {
		return err
	}
	if c.File == "" || c.File == "-" {
		_, err = e.stdout.Write(out.Bytes())
		return err
	}
	// A site file names people: only its owner may read it.
	return os.WriteFile(c.File, out.Bytes(), 0o600)
}

// openExisting opens a database that must be there: a mistyped name makes no new one.
func openExisting(e *Env, path string) (*store.Store, error) {
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("there is no database %s: name it with --db, or make one with samelift import FILE", path)
	}
	return openStore(e, path)
}

// openStore opens a database, and says in plain words what stands where it should be.
func openStore(e *Env, path string) (*store.Store, error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s is a directory: name a file in it with --db", path)
	}
	if info, err := os.Stat(filepath.Dir(path)); err != nil || !info.IsDir() {
		return nil, fmt.Errorf("there is no directory %s for the database: make it, or name another file with --db", filepath.Dir(path))
	}
	s, err := store.Open(e.ctx, path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

// Invite makes an invitation.
type Invite struct {
	Database
	Site   string `help:"The site, where the database has several." placeholder:"REF"`
	Person string `arg:"" help:"The ref of the person in the site file."`
}

// Run prints what the newcomer writes to the bot.
func (c *Invite) Run(e *Env) error {
	if _, err := os.Stat(c.DB); errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("there is no database %s: name it with --db, or make one with samelift import FILE", c.DB)
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
	code, err := h.bot.Invite(e.ctx, ref, c.Person)
	if err != nil {
		return fmt.Errorf("%w: the refs are in the site file, under people", err)
	}
	fmt.Fprintf(e.stdout, "Invitation for %s, once, within 24 hours. Let them write this to the bot:\n\n/start %s\n\nOr open, with the bot's own name in the place of BOT:\n\nhttps://t.me/BOT?start=%s\n", c.Person, code, code)
	return nil
}

// Status shows the outbox.
type Status struct {
	Database
}

// Run counts what waits and what did not arrive, without anybody's words.
func (c *Status) Run(e *Env) error {
	s, err := openExisting(e, c.DB)
	if err != nil {
		return err
	}
	defer s.Close()
	return s.View(e.ctx, e.now(), func(tx *store.Tx) error {
		queued, err := tx.Queued()
		if err != nil {
			return err
		}
		fmt.Fprintf(e.stdout, "Messages waiting to be sent: %d\n", queued)
		sites, err := tx.Sites()
		if err != nil {
			return err
		}
		for _, ref := range sites {
			counts, err := tx.Undelivered(ref)
			if err != nil {
				return err
			}
			gone, err := tx.Unreachable(ref)
			if err != nil {
				return err
			}
			n := 0
			for _, k := range counts {
				n += k
			}
			fmt.Fprintf(e.stdout, "Site %s: %d messages to %d people did not surely arrive; %d people cannot be reached.\n", ref, n, len(counts), len(gone))
		}
		return nil
	})
}
