package store

import (
	"context"
	"database/sql"
	"path/filepath"
	"strconv"
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
		{"write", s.write.db, 1, "0"},
		{"read", s.read.db, 4, "1"},
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

// A statement is prepared once and run again, also after one that failed, and while its
// own rows are still being read.
func TestPreparedStatements(t *testing.T) {
	ctx, now := context.Background(), time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
	s, err := Open(ctx, filepath.Join(t.TempDir(), "s.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for n := range 3 {
		err := s.Update(ctx, now, func(tx *Tx) error {
			for range 2 {
				if _, err := tx.Take("post", strconv.Itoa(n)); err != nil {
					return err
				}
			}
			// Not null: this one fails, the others must not mind.
			if tx.exec(`INSERT INTO inbox (transport, id, taken_at) VALUES ($1, NULL, $2)`, "post", n) == nil {
				t.Error("a null id was taken")
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	const query = `SELECT id FROM inbox WHERE transport = $1 ORDER BY id`
	for range 3 {
		pairs := ""
		err := s.View(ctx, now, func(tx *Tx) error {
			return tx.each(query, []any{"post"}, func(scan func(...any) error) error {
				var a string
				if err := scan(&a); err != nil {
					return err
				}
				return tx.each(query, []any{"post"}, func(scan func(...any) error) error {
					var b string
					err := scan(&b)
					pairs += a + b + " "
					return err
				})
			})
		})
		if err != nil || pairs != "00 01 02 10 11 12 20 21 22 " {
			t.Errorf("%s (%v)", pairs, err)
		}
	}
	if s.read.stmts[query] == nil || len(s.write.stmts) == 0 {
		t.Error("nothing is kept prepared")
	}
}
