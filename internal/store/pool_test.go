package store

import (
	"context"
	"database/sql"
	"path/filepath"
	"testing"
	"time"
)

// The settings stand in the DSN, so that no connection of either pool is without them:
// a foreign key or a flush that only some connections mind protects nothing.
func TestEveryConnectionHasItsSettings(t *testing.T) {
	ctx := context.Background()
	s, err := Open(ctx, filepath.Join(t.TempDir(), "a store with ? and # & % in its name.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	for _, pool := range []struct {
		name  string
		db    *sql.DB
		most  int
		query string
	}{
		{"write", s.write, 1, "0"},
		{"read", s.read, 4, "1"},
	} {
		if have := pool.db.Stats().MaxOpenConnections; have != pool.most {
			t.Errorf("the %s pool holds up to %d connections, want %d", pool.name, have, pool.most)
		}
		// All connections at once, and then as many new ones in their place.
		for range 2 {
			var held []*sql.Conn
			for range pool.most {
				c, err := pool.db.Conn(ctx)
				if err != nil {
					t.Fatal(err)
				}
				held = append(held, c)
				for pragma, want := range map[string]string{
					"foreign_keys": "1",
					"journal_mode": "wal",
					"synchronous":  "2", // FULL
					"busy_timeout": "10000",
					"query_only":   pool.query,
				} {
					var have string
					if err := c.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&have); err != nil || have != want {
						t.Errorf("%s pool: %s is %q, want %q (%v)", pool.name, pragma, have, want, err)
					}
				}
			}
			pool.db.SetMaxIdleConns(0) // so that giving one back ends it
			for _, c := range held {
				c.Close()
			}
		}
	}
}

// A View can change nothing, even where its code is wrong.
func TestViewCannotWrite(t *testing.T) {
	s, err := Open(context.Background(), filepath.Join(t.TempDir(), "s.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	err = s.View(context.Background(), time.Now(), func(tx *Tx) error {
		_, err := tx.Take("post", "1")
		return err
	})
	if err == nil {
		t.Error("a View has written")
	}
}
