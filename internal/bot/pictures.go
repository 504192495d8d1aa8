package bot

import (
	"fmt"
	"strings"

	"samelift/internal/chat"
	"samelift/internal/dialog"
)

// picture makes what a reader sees beside the words, or nothing where their place of
// work wants none. It is drawn once and kept.
func (t *turn) picture(w wording, p *dialog.Picture) (*chat.Picture, error) {
	if p == nil || t.site == nil || t.site.NoPictures {
		return nil, nil
	}
	alt, err := w.alt(p.Alt)
	if err != nil {
		return nil, err
	}
	have, err := t.tx.Picture(p.Key)
	if err != nil {
		return nil, fmt.Errorf("look for a picture: %w", err)
	}
	if !have {
		png, err := t.bot.Draw(p)
		if err != nil {
			return nil, fmt.Errorf("draw a picture: %w", err)
		}
		if err := t.tx.SavePicture(p.Key, png); err != nil {
			return nil, fmt.Errorf("keep a picture: %w", err)
		}
	}
	return &chat.Picture{Key: p.Key, Name: "picture.png", Alt: alt}, nil
}

// alt puts into words what a picture shows, for those who do not see it.
func (w wording) alt(facts []dialog.Words) (string, error) {
	var out []string
	for _, f := range facts {
		s, err := w.words(f)
		if err != nil {
			return "", err
		}
		out = append(out, s)
	}
	return strings.Join(out, "\n"), nil
}
