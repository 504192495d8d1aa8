package bot

import (
	"context"
	"errors"
	"strings"

	"samelift/internal/care"
	"samelift/internal/chat"
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

// maxFaults is the most faults of a file that one message lists.
const maxFaults = 10

// siteFile takes a site file that a coordinator has sent. It reports false for a file
// that is none of its business.
func (b *Bot) siteFile(tx *store.Tx, site *care.Site, me care.Person, file *chat.File) ([]dialog.Effect, bool, error) {
	if file == nil {
		return nil, false, nil
	}
	said := func(key string, args dialog.Args) dialog.Line {
		return dialog.Line{Words: dialog.Words{Key: key, Args: args}}
	}
	answer := func(lines ...dialog.Line) ([]dialog.Effect, bool, error) {
		return []dialog.Effect{dialog.Say{Lines: lines}}, true, nil
	}
	name := strings.ToLower(file.Name)
	if me.Role != care.Coordinator {
		return answer(said("file.coordinator_only", nil))
	}
	if !strings.HasSuffix(name, ".yaml") && !strings.HasSuffix(name, ".yml") {
		return answer(said("file.not_site", nil))
	}
	described, faults := sitefile.Read(file.Data, b.Known(site))
	if len(faults) > 0 {
		lines := []dialog.Line{said("file.faults", dialog.Args{"Number": len(faults)})}
		for _, f := range faults[:min(len(faults), maxFaults)] {
			lines = append(lines, said("file.fault", dialog.Args{"Line": f.Line, "Field": f.Field, "Problem": f.Problem}))
		}
		return answer(lines...)
	}
	if described.Ref != site.Ref {
		return answer(said("file.other_site", nil))
	}
	im, err := b.importSite(tx, described)
	var stale *store.StalePlanError
	if errors.As(err, &stale) {
		name := stale.Client
		if c, ok := site.Client(stale.Client); ok {
			name = c.Name
		}
		return answer(said("file.stale", dialog.Args{"Client": name, "Version": stale.File, "Current": stale.Have}))
	}
	if err != nil {
		return nil, true, err
	}
	if im.Nothing() && len(im.Kept) == 0 {
		return answer(said("file.nothing", nil))
	}
	lines := []dialog.Line{said("file.taken", nil)}
	if im.Nothing() {
		lines = []dialog.Line{said("file.nothing", nil)}
	}
	for _, label := range im.Kept {
		lines = append(lines, said("equipment.file.kept", dialog.Args{"Label": label}))
	}
	if len(im.Plans) > 0 {
		lines = append(lines, said("file.plans", dialog.Args{"Number": len(im.Plans)}))
	}
	return answer(lines...)
}

// Known is what a site file may speak of without describing it.
func (b *Bot) Known(site *care.Site) sitefile.Known {
	k := sitefile.Known{Site: site}
	for _, l := range b.Words.Languages() {
		k.Languages = append(k.Languages, l.Code)
	}
	return k
}
