package store_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"samelift/internal/store"
	"samelift/migrations"
)

// raw runs SQL on a database file past the store.
func raw(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range statements {
		if _, err := db.Exec(q); err != nil {
			t.Fatalf("%s: %v", q, err)
		}
	}
}

// rawInt reads a number past the store.
func rawInt(t *testing.T, path, query string) int {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var n int
	if err := db.QueryRow(query).Scan(&n); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	return n
}

// An empty file becomes a database at the newest schema, every migration applied once
// and in the order of its number.
func TestMigrationsRunInOrderOnAnEmptyFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.db")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	openAt(t, path).Close()
	files, err := migrations.SQLite.ReadDir("sqlite")
	if err != nil {
		t.Fatal(err)
	}
	if n := rawInt(t, path, `SELECT count(*) FROM goose_db_version WHERE version_id > 0 AND is_applied = 1`); n != len(files) {
		t.Errorf("%d migrations are on record, want %d", n, len(files))
	}
	if n := rawInt(t, path, `SELECT count(*) FROM goose_db_version a JOIN goose_db_version b ON b.id > a.id AND b.version_id <= a.version_id`); n != 0 {
		t.Error("migrations did not run in the order of their numbers")
	}
	if n := rawInt(t, path, `SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'outbox'`); n != 1 {
		t.Error("there is no outbox")
	}
}

// What was kept is there after the next start.
func TestOpenAgainKeepsEverything(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.db")
	s := openAt(t, path)
	load(t, s, now, demo(t))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = openAt(t, path)
	if site := siteAt(t, s, now); site == nil || len(site.Clients) == 0 {
		t.Errorf("after opening again the site is %v", site)
	}
}

// A database from a newer build is not touched: an older build would not mind rules
// that it does not know.
func TestNewerDatabaseIsRefusedUntouched(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.db")
	openAt(t, path).Close()
	raw(t, path, `INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, 1)`, `CREATE TABLE from_the_future (x)`)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(context.Background(), path)
	if err == nil {
		s.Close()
	}
	if !errors.Is(err, store.ErrNewer) || !strings.Contains(err.Error(), "99999") {
		t.Errorf("a newer database gives %v, want ErrNewer with both versions", err)
	}
	if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
		t.Error("the newer database was changed")
	}
}

// A mistyped path must not cost somebody a file.
func TestWhatIsNotOursIsRefusedUntouched(t *testing.T) {
	dir := t.TempDir()
	letter := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(letter, bytes.Repeat([]byte("Dear Sir or Madam, "), 500), 0o600); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.db")
	raw(t, other, `CREATE TABLE recipes (name TEXT)`, `INSERT INTO recipes VALUES ('soup')`)
	for _, path := range []string{letter, other} {
		before, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		s, err := store.Open(context.Background(), path)
		if err == nil {
			s.Close()
			t.Errorf("%s was opened as a database of ours", filepath.Base(path))
		} else if !strings.Contains(err.Error(), "samelift database") {
			t.Errorf("%s gives an error that does not say what is wrong: %v", filepath.Base(path), err)
		}
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
			t.Errorf("%s was changed", filepath.Base(path))
		}
	}
	if s, err := store.Open(context.Background(), filepath.Join(dir, "nowhere", "s.db")); err == nil {
		s.Close()
		t.Error("a database was opened in a folder that does not exist")
	}
}

// All of a message's effects are kept or none: an error, a panic and an ended context
// leave nothing behind, and the next transaction works.
func TestUpdateUndoesEverything(t *testing.T) {
	s := open(t)
	taken := func(id string) bool {
		fresh := true
		err := s.Update(context.Background(), now, func(tx *store.Tx) (err error) {
			fresh, err = tx.Take("post", id)
			return errors.Join(err, errUndo)
		})
		if !errors.Is(err, errUndo) {
			t.Fatalf("Update gives %v, want the error of f", err)
		}
		return !fresh
	}
	if taken("1"); taken("1") {
		t.Error("what failed was kept")
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was swallowed")
			}
		}()
		s.Update(context.Background(), now, func(tx *store.Tx) error {
			tx.Take("post", "2")
			panic("a bug")
		})
	}()
	if taken("2") {
		t.Error("what panicked was kept")
	}
	ctx, cancel := context.WithCancel(context.Background())
	if err := s.Update(ctx, now, func(tx *store.Tx) error {
		_, err := tx.Take("post", "3")
		cancel()
		return err
	}); err == nil {
		t.Error("a transaction was committed after its context had ended")
	}
	if taken("3") {
		t.Error("what was cancelled was kept")
	}
	if err := s.Update(ctx, now, func(*store.Tx) error { t.Error("f ran with an ended context"); return nil }); err == nil {
		t.Error("a transaction began with an ended context")
	}
}

// A message delivered again has no effect; the same id of another transport is another
// message.
func TestTakeOnce(t *testing.T) {
	s := open(t)
	for _, c := range []struct {
		transport, id string
		fresh         bool
	}{
		{"post", "7", true}, {"post", "7", false}, {"page", "7", true}, {"post", "8", true}, {"post", "7", false},
	} {
		do(t, s, now, func(tx *store.Tx) error {
			if fresh, err := tx.Take(c.transport, c.id); err != nil || fresh != c.fresh {
				t.Errorf("%s %s: fresh is %t, want %t (%v)", c.transport, c.id, fresh, c.fresh, err)
			}
			return nil
		})
	}
}

// Forgetting drops what was taken before an instant and nothing younger, so that what
// can still be delivered again has no effect.
func TestForgetTheOldInbox(t *testing.T) {
	s := open(t)
	for i, id := range []string{"old", "edge", "new"} {
		do(t, s, now.Add(time.Duration(i-1)*time.Microsecond), func(tx *store.Tx) error {
			_, err := tx.Take("post", id)
			return err
		})
	}
	do(t, s, now, func(tx *store.Tx) error { return tx.Forget(now) })
	for id, fresh := range map[string]bool{"old": true, "edge": false, "new": false} {
		do(t, s, now, func(tx *store.Tx) error {
			if have, err := tx.Take("post", id); have != fresh || err != nil {
				t.Errorf("%s is fresh %t, want %t (%v)", id, have, fresh, err)
			}
			return nil
		})
	}
}

// A conversation's state is one per address, and the last one counts.
func TestConversation(t *testing.T) {
	s := open(t)
	do(t, s, now, func(tx *store.Tx) error {
		if b, err := tx.Conversation(at("rosa")); b != nil || err != nil {
			t.Errorf("a conversation that has not begun is %q (%v)", b, err)
		}
		return errors.Join(
			tx.SaveConversation(at("rosa"), []byte(`{"v":1}`)),
			tx.SaveConversation(at("rosa"), []byte(`{"v":1,"turn":2}`)),
			tx.SaveConversation(at("oskar"), []byte(`{"v":1,"turn":9}`)))
	})
	have := get(t, s, now, func(tx *store.Tx) ([]byte, error) { return tx.Conversation(at("rosa")) })
	if string(have) != `{"v":1,"turn":2}` {
		t.Errorf("the conversation stands at %s", have)
	}
}

// What was committed is there after the process was killed: only the files count, not
// a tidy end.
func TestCommittedSurvivesAKill(t *testing.T) {
	dir := t.TempDir()
	s := openAt(t, filepath.Join(dir, "s.db"))
	load(t, s, now, demo(t))
	copied := filepath.Join(t.TempDir(), "s.db")
	for _, end := range []string{"", "-wal"} {
		b, err := os.ReadFile(filepath.Join(dir, "s.db"+end))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(copied+end, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if site := siteAt(t, openAt(t, copied), now); site == nil || len(site.Clients) != len(demo(t).Clients) {
		t.Error("the committed site is lost")
	}
}
