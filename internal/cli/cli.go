// Package cli is the program as its operator sees it: commands, configuration and the
// wiring of all other packages, the only one that knows them all. It is a function of
// its arguments, so that a test runs it without a process. Its messages are English,
// and an error ends with what to do next.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"time"

	"github.com/alecthomas/kong"
)

// Commands is the command line.
type Commands struct {
	Demo    Demo    `cmd:"" help:"Show the whole job on a page of your own machine, with an invented team."`
	Run     Run     `cmd:"" help:"Serve a team on Telegram."`
	Import  Import  `cmd:"" help:"Check a site file and take it in: all of it or nothing."`
	Export  Export  `cmd:"" help:"Write a site as a file that imports to the same site."`
	Invite  Invite  `cmd:"" help:"Make an invitation for a member of the team, such as the first coordinator."`
	Sheet   Sheet   `cmd:"" help:"Write a client's plan as a page to print, for the folder by the bed."`
	Ask     Ask     `cmd:"" help:"Show how a question is understood, for a site file."`
	Labels  Labels  `cmd:"" help:"Write a sheet of labels with codes for the people in care, the slings and the hoists."`
	Status  Status  `cmd:"" help:"Show what waits to be sent and what did not arrive."`
	Version Version `cmd:"" help:"Show the version."`
}

// An Env is what a command works with.
type Env struct {
	ctx    context.Context
	vars   map[string]string
	stdin  io.Reader
	stdout io.Writer
	stderr io.Writer
	log    *slog.Logger
	now    func() time.Time
}

// usageError is a command line that cannot be meant.
type usageError struct{ error }

// Main runs one command and returns the exit status: 0 done, 1 failed, 2 not understood.
func Main(ctx context.Context, env []string, stdin io.Reader, stdout, stderr io.Writer, args []string) int {
	err := run(ctx, env, stdin, stdout, stderr, args)
	var usage usageError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "samelift: %v\nsamelift --help shows the commands.\n", err)
		return 2
	}
	fmt.Fprintf(stderr, "samelift: %v\n", err)
	return 1
}

// helped is how the help of a command ends the parsing.
type helped struct{}

func run(ctx context.Context, env []string, stdin io.Reader, stdout, stderr io.Writer, args []string) (err error) {
	e := &Env{ctx: ctx, vars: map[string]string{}, stdin: stdin, stdout: stdout, stderr: stderr, now: time.Now,
		log: slog.New(slog.NewTextHandler(stderr, nil))}
	for _, v := range env {
		name, value, _ := strings.Cut(v, "=")
		e.vars[name] = value
	}
	var c Commands
	parser, err := kong.New(&c, kong.Name("samelift"),
		kong.Description("Keeps a person's hoist-and-sling transfer plan the same in every pair of hands."),
		kong.Writers(stdout, stderr), kong.Exit(func(int) { panic(helped{}) }), kong.UsageOnError())
	if err != nil {
		return err
	}
	defer func() {
		// kong wants to exit after showing help; a function returns.
		if r := recover(); r != nil {
			if _, ok := r.(helped); !ok {
				panic(r)
			}
		}
	}()
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if err != nil {
		return usageError{err}
	}
	return k.Run(e)
}
