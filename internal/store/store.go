// Package store keeps everything that must outlive the process: the site, the
// conversations, what came in, what goes out, the records and what wakes the bot.
// It owns the SQL and nothing of what the rows mean. Outside opens a transaction
// with Update or View, inside takes a *Tx.
//
// The SQL is what SQLite and PostgreSQL share; SQLite is the embedded default.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"net/url"
	"os"
	"sync"
	"time"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the "sqlite" driver

	"samelift/internal/care"
	"samelift/migrations"
)

// ErrNewer says that a newer version of the program has written the database.
var ErrNewer = errors.New("the database was written by a newer version of samelift: use that version, or restore an older copy")

// Store is an open database.
type Store struct {
	// One connection writes, so that transactions queue here in order of arrival and
	// not inside SQLite, where a waiter is picked at random.
	write *pool
	read  *pool
	turn  sync.Mutex

	mu    sync.Mutex
	sites map[string]snapshot
}

// A snapshot is a site as read at a revision; it is shared and never changed. It holds
// the plans that are in force at an instant and those that come later, so it serves
// that instant and every later one.
type snapshot struct {
	revision int64
	at       time.Time
	site     *care.Site
}

// Open opens the database file, making it if it is not there, and brings its
// schema up to date. It returns ErrNewer for a schema this build does not know, and
// leaves such a file, or one that is not ours at all, as it is.
func Open(ctx context.Context, path string) (*Store, error) {
	if err := ours(ctx, path); err != nil {
		return nil, err
	}
	write, err := open(path, "immediate", "")
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	write.SetMaxOpenConns(1)
	if err := migrate(ctx, write); err != nil {
		write.Close()
		return nil, err
	}
	read, err := open(path, "deferred", "&_pragma=query_only(1)")
	if err != nil {
		write.Close()
		return nil, fmt.Errorf("open database: %w", err)
	}
	read.SetMaxOpenConns(4)
	return &Store{write: newPool(write), read: newPool(read), sites: map[string]snapshot{}}, nil
}

// open puts the settings into the DSN, since a pragma that is run once reaches one
// connection of the pool only.
func open(path, lock, more string) (*sql.DB, error) {
	dsn := "file:" + (&url.URL{Path: path}).EscapedPath() +
		"?_txlock=" + lock +
		"&_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)" + more
	return sql.Open("sqlite", dsn)
}

// ours looks at a file without changing it: opening it with our settings, and asking
// for its version, already writes.
func ours(ctx context.Context, path string) error {
	if f, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) || err == nil && f.Mode().IsRegular() && f.Size() == 0 {
		return nil
	}
	db, err := sql.Open("sqlite", "file:"+(&url.URL{Path: path}).EscapedPath()+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return fmt.Errorf("open database: %w", err)
	}
	defer db.Close()
	var tables, versions int
	if err := db.QueryRowContext(ctx, `SELECT count(*), coalesce(sum(name = 'goose_db_version'), 0) FROM sqlite_master WHERE type = 'table'`).Scan(&tables, &versions); err != nil {
		return fmt.Errorf("this file cannot be read as a samelift database: %w", err)
	}
	if tables > 0 && versions == 0 {
		return errors.New("this file is a database, but no samelift database: give the path of another file, or of none that is there yet")
	}
	return nil
}

func migrate(ctx context.Context, db *sql.DB) error {
	files, err := fs.Sub(migrations.SQLite, "sqlite")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files)
	if err != nil {
		return fmt.Errorf("read migrations: %w", err)
	}
	have, err := p.GetDBVersion(ctx)
	if err != nil {
		return fmt.Errorf("this file cannot be read as a samelift database: %w", err)
	}
	sources := p.ListSources()
	if want := sources[len(sources)-1].Version; have > want {
		return fmt.Errorf("%w (its schema is %d, this program knows %d)", ErrNewer, have, want)
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the database up to date: %w", err)
	}
	return nil
}

// Close closes the database.
func (s *Store) Close() error { return errors.Join(s.read.db.Close(), s.write.db.Close()) }

// Tx is a transaction with a single now.
type Tx struct {
	tx    *sql.Tx
	ctx   context.Context
	store *Store
	pool  *pool
	// unknown are the queries that the pool has not prepared yet, open those whose rows
	// are being read.
	unknown []string
	open    []string
	// Now is the instant at which everything in this transaction happens.
	Now time.Time
	// touched sites must not be cached: the transaction may still be undone.
	touched map[string]bool
}

// Update runs f in the one transaction that may write, and commits if f returns
// nil. Nothing of it remains otherwise.
func (s *Store) Update(ctx context.Context, now time.Time, f func(*Tx) error) error {
	s.turn.Lock()
	defer s.turn.Unlock()
	return s.in(ctx, s.write, now, f)
}

// View runs f in a transaction that sees one state of the database and changes
// nothing.
func (s *Store) View(ctx context.Context, now time.Time, f func(*Tx) error) error {
	return s.in(ctx, s.read, now, f)
}

func (s *Store) in(ctx context.Context, p *pool, now time.Time, f func(*Tx) error) error {
	tx, err := p.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	t := &Tx{tx: tx, ctx: ctx, store: s, pool: p, Now: now.UTC(), touched: map[string]bool{}}
	defer p.learn(ctx, t)
	defer tx.Rollback() // does nothing after a commit
	if err := f(t); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("commit: %w", err)
	}
	return nil
}

// exec runs a statement.
// Try runs f and undoes whatever it wrote, so that what it would do can be looked at.
func (tx *Tx) Try(f func() error) error {
	touched := maps.Clone(tx.touched)
	if err := tx.exec(`SAVEPOINT try`); err != nil {
		return err
	}
	failed := f()
	tx.touched = touched
	if err := tx.exec(`ROLLBACK TO SAVEPOINT try`); err != nil {
		return err
	}
	if err := tx.exec(`RELEASE SAVEPOINT try`); err != nil {
		return err
	}
	return failed
}

func (tx *Tx) exec(query string, args ...any) error {
	_, err := tx.affect(query, args...)
	return err
}

// affect runs a statement and counts the rows it touched.
func (tx *Tx) affect(query string, args ...any) (int64, error) {
	var r sql.Result
	var err error
	if st := tx.prepared(query); st != nil {
		r, err = st.ExecContext(tx.ctx, args...)
	} else {
		r, err = tx.tx.ExecContext(tx.ctx, query, args...)
	}
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

func (tx *Tx) query(query string, args []any) (*sql.Rows, error) {
	if st := tx.prepared(query); st != nil {
		return st.QueryContext(tx.ctx, args...)
	}
	return tx.tx.QueryContext(tx.ctx, query, args...)
}

// one reads a single row; it reports false where there is none.
func (tx *Tx) one(query string, args []any, dest ...any) (bool, error) {
	found := false
	rows, err := tx.query(query, args)
	if err != nil {
		return false, err
	}
	defer rows.Close()
	if rows.Next() {
		if err := rows.Scan(dest...); err != nil {
			return false, err
		}
		found = true
	}
	if err := rows.Err(); err != nil {
		return false, err
	}
	return found, rows.Close()
}

// each calls f for every row.
func (tx *Tx) each(query string, args []any, f func(scan func(...any) error) error) error {
	rows, err := tx.query(query, args)
	if err != nil {
		return err
	}
	defer rows.Close()
	tx.open = append(tx.open, query)
	defer func() { tx.open = tx.open[:len(tx.open)-1] }()
	for rows.Next() {
		if err := f(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

// list reads every row with scan.
func list[T any](tx *Tx, query string, args []any, scan func(*T, func(...any) error) error) ([]T, error) {
	var out []T
	err := tx.each(query, args, func(s func(...any) error) error {
		var v T
		if err := scan(&v, s); err != nil {
			return err
		}
		out = append(out, v)
		return nil
	})
	return out, err
}

func micros(t time.Time) int64 { return t.UnixMicro() }

func instant(us int64) time.Time { return time.UnixMicro(us).UTC() }

func null(s string) any {
	if s == "" {
		return nil
	}
	return s
}
