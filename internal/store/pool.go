package store

import (
	"context"
	"database/sql"
	"slices"
	"sync"
)

// A pool is connections and the statements prepared on them: compiling a statement
// takes longer than most of ours run. All SQL here is constant, so there are as many
// statements as places in the code.
type pool struct {
	db    *sql.DB
	mu    sync.Mutex
	stmts map[string]*sql.Stmt
}

func newPool(db *sql.DB) *pool { return &pool{db: db, stmts: map[string]*sql.Stmt{}} }

// prepared gives the prepared form of a query for this transaction, or nil if there is
// none yet. A statement whose rows are still being read is not run again meanwhile.
func (tx *Tx) prepared(query string) *sql.Stmt {
	tx.pool.mu.Lock()
	st := tx.pool.stmts[query]
	tx.pool.mu.Unlock()
	if st == nil {
		tx.unknown = append(tx.unknown, query)
		return nil
	}
	if slices.Contains(tx.open, query) {
		return nil
	}
	return tx.tx.StmtContext(tx.ctx, st)
}

// learn prepares what a transaction had to run unprepared. It waits until the
// transaction is over, since preparing takes a connection of its own. A failure is
// none: the query is then run unprepared again, and says itself what is wrong.
func (p *pool) learn(ctx context.Context, tx *Tx) {
	for _, query := range tx.unknown {
		p.mu.Lock()
		_, known := p.stmts[query]
		p.mu.Unlock()
		if known {
			continue
		}
		st, err := p.db.PrepareContext(ctx, query)
		if err != nil {
			return
		}
		p.mu.Lock()
		if _, known := p.stmts[query]; known {
			st.Close()
		} else {
			p.stmts[query] = st
		}
		p.mu.Unlock()
	}
}
