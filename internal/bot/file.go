package bot

import (
	"errors"
	"strings"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/dialog"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// maxFaults is the most faults of a file that one message lists.
const maxFaults = 10

func said(key string, args dialog.Args) dialog.Line {
	return dialog.Line{Words: dialog.Words{Key: key, Args: args}}
}

// siteFile takes a site file that somebody has sent. One that changes plans is kept in
// the conversation and shown before it counts; any other is taken at once. It reports
// false where nothing was sent.
func (t *turn) siteFile(state dialog.State, f dialog.Facts, file *chat.File) (dialog.State, []dialog.Effect, bool, error) {
	if file == nil {
		return state, nil, false, nil
	}
	answer := func(lines ...dialog.Line) (dialog.State, []dialog.Effect, bool, error) {
		return state, []dialog.Effect{dialog.Say{Lines: lines}}, true, nil
	}
	name := strings.ToLower(file.Name)
	if t.me.Role != care.Coordinator {
		return answer(said("file.coordinator_only", nil))
	}
	if !strings.HasSuffix(name, ".yaml") && !strings.HasSuffix(name, ".yml") {
		return answer(said("file.not_site", nil))
	}
	described, lines := t.readFile(file.Data)
	if lines != nil {
		return answer(lines...)
	}
	im, _, lines, err := t.tryFile(described)
	switch {
	case err != nil:
		return state, nil, true, err
	case lines != nil:
		return answer(lines...)
	case len(im.Plans) > 0:
		state, effects := dialog.KeepFile(state, f, string(file.Data))
		return state, effects, true, nil
	}
	if im, err = t.bot.importSite(t.tx, described); err != nil {
		return state, nil, true, err
	}
	return answer(takenLines(im)...)
}

// readFile reads a site file, or says what is wrong with it.
func (t *turn) readFile(data []byte) (*care.Site, []dialog.Line) {
	described, faults := sitefile.Read(data, t.bot.Known(t.site))
	if len(faults) > 0 {
		lines := []dialog.Line{said("file.faults", dialog.Args{"Number": len(faults)})}
		for _, f := range faults[:min(len(faults), maxFaults)] {
			lines = append(lines, said("file.fault", dialog.Args{"Line": f.Line, "Field": f.Field, "Problem": f.Problem}))
		}
		return nil, lines
	}
	if described.Ref != t.site.Ref {
		return nil, []dialog.Line{said("file.other_site", nil)}
	}
	return described, nil
}

// tryFile finds what an import would do, and does nothing. It gives the site as it would
// be, or says why the file cannot be taken.
func (t *turn) tryFile(described *care.Site) (im store.Imported, site *care.Site, lines []dialog.Line, err error) {
	err = t.tx.Try(func() error {
		if im, err = t.tx.Import(described); err != nil || im.Nothing() {
			return err
		}
		site, err = t.tx.Site(described.Ref)
		return err
	})
	var stale *store.StalePlanError
	switch {
	case errors.As(err, &stale):
		name := stale.Client
		if c, ok := t.site.Client(stale.Client); ok {
			name = dialog.Called(t.site, c)
		}
		return im, nil, []dialog.Line{said("file.stale", dialog.Args{"Client": name, "Version": stale.File, "Current": stale.Have})}, nil
	case err == nil && im.Nothing():
		return im, nil, append([]dialog.Line{said("file.nothing", nil)}, keptLines(im)...), nil
	}
	return im, site, nil, err
}

// takenLines says what an import has done.
func takenLines(im store.Imported) []dialog.Line {
	lines := []dialog.Line{said("file.taken", nil)}
	if len(im.Plans) > 0 {
		lines = append(lines, said("file.plans", dialog.Args{"Number": len(im.Plans)}))
	}
	return append(lines, keptLines(im)...)
}

// keptLines names the equipment about which the chat has the newer word.
func keptLines(im store.Imported) []dialog.Line {
	var out []dialog.Line
	for _, label := range im.Kept {
		out = append(out, said("equipment.file.kept", dialog.Args{"Label": label}))
	}
	return out
}

// previewFile shows what a kept site file would change.
func (t *turn) previewFile(e dialog.PreviewFile) error {
	out, _, err := t.preview(e)
	if err != nil {
		return err
	}
	return t.do(out)
}

// preview says what a site file would change, and whether it can be taken.
func (t *turn) preview(e dialog.PreviewFile) (dialog.Say, bool, error) {
	described, lines := t.readFile([]byte(e.File))
	if lines != nil {
		return dialog.FileRefused(lines, e.Turn), false, nil
	}
	im, site, lines, err := t.tryFile(described)
	if err != nil || lines != nil {
		return dialog.FileRefused(lines, e.Turn), false, err
	}
	var plans []dialog.FilePlan
	for _, p := range im.Plans {
		old, _ := t.records.Plan(p.Client, p.Before)
		for _, now := range site.Plans {
			if now.Client == p.Client && now.Version == p.After {
				plans = append(plans, dialog.FilePlan{Old: old, New: now})
			}
		}
	}
	out, can := dialog.FilePreview(t.facts(t.bot), site, plans, im.Added+im.Altered, e.Turn)
	return out, can, t.records.err
}

// takeFile imports a kept site file, if nothing stands against it at this instant.
func (t *turn) takeFile(e dialog.TakeFile) error {
	out, can, err := t.preview(dialog.PreviewFile{File: e.File})
	if err != nil {
		return err
	}
	if !can {
		out.Choices = nil // the file is no longer kept
		return t.do(out)
	}
	described, _ := t.readFile([]byte(e.File))
	im, err := t.bot.importSite(t.tx, described)
	if err != nil {
		return err
	}
	return t.do(dialog.Say{Lines: takenLines(im), InPlace: true})
}
