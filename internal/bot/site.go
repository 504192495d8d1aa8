package bot

import (
	"context"

	"samelift/internal/care"
	"samelift/internal/dialog"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// Import merges a site that passed the checks of sitefile into the store, all or
// nothing, and has every new plan version told to those who care for the client.
func (b *Bot) Import(ctx context.Context, site *care.Site) (store.Imported, error) {
	var im store.Imported
	err := b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error {
		var err error
		im, err = b.importSite(tx, site)
		return err
	})
	if err == nil {
		b.Nudge()
	}
	return im, err
}

func (b *Bot) importSite(tx *store.Tx, described *care.Site) (store.Imported, error) {
	im, err := tx.Import(described)
	if err != nil || im.Nothing() {
		return im, err
	}
	site, revision, err := tx.SiteRevision(described.Ref)
	if err != nil {
		return im, err
	}
	if err := b.planShifts(tx, site); err != nil {
		return im, err
	}
	if err := b.planExaminations(tx, site); err != nil {
		return im, err
	}
	if im.New {
		return im, nil // nobody has joined, and every plan is a first one
	}
	for _, p := range im.Plans {
		if err := b.publish(tx, site, revision, versionChange(p), ""); err != nil {
			return im, err
		}
	}
	if im.Added == 0 && im.Altered == 0 {
		return im, nil
	}
	return im, b.catchUp(tx, site)
}

// catchUp lists in the open tellings whoever has come to a client since, and has them
// told; cards of clients who are no longer cared for here have to say so.
func (b *Bot) catchUp(tx *store.Tx, site *care.Site) error {
	joined, err := tx.ListCarers(site.Ref)
	if err != nil {
		return err
	}
	for _, id := range joined {
		if err := tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeTell, Key: id, Due: tx.Now}); err != nil {
			return err
		}
	}
	for _, c := range site.Clients {
		if c.Ended {
			if err := tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeStale, Key: c.Ref, Due: tx.Now}); err != nil {
				return err
			}
		}
	}
	return nil
}

// publishPlan records a plan that was changed in the chat and has it told, in the turn's
// own transaction and the same way as one that came in a file.
func (t *turn) publishPlan(e dialog.PublishPlan) error {
	e.Plan.Urgent = e.Urgent
	done, err := t.tx.Publish(t.site.Ref, e.Plan, e.Based)
	if err != nil {
		return err
	}
	return t.publish(versionChange(done))
}

// tell queues a change for one person, if they can be reached.
func (b *Bot) tell(tx *store.Tx, site *care.Site, revision int64, to care.Person, c care.Change) error {
	address, ok, err := tx.Address(site.Ref, to.Ref)
	if err != nil || !ok {
		return err
	}
	t := b.turnOf(tx, site, to, address, 0)
	t.revision = revision
	effects := dialog.TellChange(t.facts(b), to, c)
	if t.records.err != nil {
		return t.records.err
	}
	return t.apply(effects)
}

// Known is what a site file may speak of without describing it.
func (b *Bot) Known(site *care.Site) sitefile.Known {
	k := sitefile.Known{Site: site}
	for _, l := range b.Words.Languages() {
		k.Languages = append(k.Languages, l.Code)
	}
	return k
}
