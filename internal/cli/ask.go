package cli

import (
	"errors"
	"fmt"
	"strings"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/sitefile"
	askwords "samelift/locales/ask"
)

// Ask shows how questions are understood.
type Ask struct {
	Site    string   `required:"" help:"The site file whose clients and team are meant." placeholder:"FILE"`
	Lang    string   `help:"The language that the writer reads, a hint only."`
	Explain bool     `help:"Say what was found in the words, and why."`
	JSON    bool     `help:"Read one JSON object a line and write one a line."`
	Text    []string `arg:"" optional:"" help:"The question."`
}

// Run reads one question from the arguments, or many from standard input.
func (c *Ask) Run(e *Env) error {
	data, err := e.read(c.Site)
	if err != nil {
		return err
	}
	site, faults := sitefile.Read(data, sitefile.Known{})
	if len(faults) > 0 {
		return fmt.Errorf("%s: %w: samelift import --check %s shows all %d faults", c.Site, faults[0], c.Site, len(faults))
	}
	lexicon, err := ask.Load(askwords.FS)
	if err != nil {
		return err
	}
	clients, colleagues := names(site)
	reader := ask.NewReader(lexicon, clients, colleagues)
	if c.JSON {
		return ask.Lines(reader, e.stdin, e.stdout)
	}
	text := strings.Join(c.Text, " ")
	if text == "" {
		return usageError{errors.New("ask what? Write the question after the options, or use --json")}
	}
	r, reasons := reader.Explain(text, c.Lang)
	fmt.Fprintf(e.stdout, "client: %s\ncandidates: %s\nunknown name: %s\nfrom: %s\nto: %s\ntopics: %v\nemergency: %v\n",
		r.Client, strings.Join(r.Candidates, ", "), r.UnknownName, r.From, r.To, r.Topics, r.Emergency)
	if c.Explain {
		for _, why := range reasons {
			fmt.Fprintf(e.stdout, "  %s\n", why)
		}
	}
	return nil
}

// names gives the clients and the team as the reader of questions wants them.
func names(site *care.Site) (clients, colleagues []ask.Name) {
	for _, c := range site.Clients {
		if !c.Ended {
			clients = append(clients, ask.Name{Ref: c.Ref, Name: c.Name, Also: c.Also, Room: c.Room})
		}
	}
	for _, p := range site.People {
		colleagues = append(colleagues, ask.Name{Ref: p.Ref, Name: p.Name})
	}
	return clients, colleagues
}
