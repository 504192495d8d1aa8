// Samelift keeps a person's hoist-and-sling transfer plan the same in every pair of
// hands. See README.md.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"samelift/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(cli.Main(ctx, os.Environ(), os.Stdin, os.Stdout, os.Stderr, os.Args[1:]))
}
