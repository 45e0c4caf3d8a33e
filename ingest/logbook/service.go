package logbook

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// A Plan is a service that a fork needs every so many hours of riding, as its maker says.
type Plan struct {
	What       string  `json:"what"`
	EveryHours float64 `json:"every_hours"`
}

// A Service is one that was done.
type Service struct {
	What string    `json:"what"`
	At   time.Time `json:"at"`
}

// A Due is where a planned service stands.
type Due struct {
	Plan
	LastAt time.Time // zero: never recorded
	Hours  float64   // ridden since, as far as runs are filed
}

// Over says whether the service is due.
func (d Due) Over() bool { return d.Hours >= d.EveryHours }

// PlanService sets after how many hours of riding a fork needs a service. No hours take the plan away.
func (b *Logbook) PlanService(ctx context.Context, fork, what string, everyHours float64) error {
	what = strings.TrimSpace(what)
	if what == "" || len(what) > maxName || !(everyHours >= 0 && everyHours <= 100000) {
		return fmt.Errorf("service plan: %q every %g hours cannot be kept", what, everyHours)
	}
	return b.onFork(ctx, fork, func(tx *sql.Tx, id int64) error {
		if everyHours == 0 {
			_, err := tx.ExecContext(ctx, "DELETE FROM service_plan WHERE fork_id = ? AND what = ?", id, what)
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO service_plan (fork_id, what, every_hours) VALUES (?,?,?)
			ON CONFLICT (fork_id, what) DO UPDATE SET every_hours = excluded.every_hours`, id, what, everyHours)
		return err
	})
}

// Serviced records that a service was done. A zero time is now.
func (b *Logbook) Serviced(ctx context.Context, fork, what string, at time.Time) error {
	what = strings.TrimSpace(what)
	if what == "" || len(what) > maxName {
		return errors.New("say which service was done")
	}
	if at.IsZero() {
		at = b.now()
	}
	return b.onFork(ctx, fork, func(tx *sql.Tx, id int64) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO service (fork_id, what, at) VALUES (?,?,?)", id, what, toMS(at))
		return err
	})
}

func (b *Logbook) onFork(ctx context.Context, fork string, work func(*sql.Tx, int64) error) error {
	return b.change(ctx, func(tx *sql.Tx) error {
		id, err := forkID(ctx, tx, fork)
		if err != nil {
			return err
		}
		if err := work(tx, id); err != nil {
			return err
		}
		return b.saveShelf(ctx, tx)
	})
}

// Due tells where the planned services of a fork stand. Hours are those of filed runs while riding.
func (b *Logbook) Due(ctx context.Context, fork string) ([]Due, error) {
	id, err := forkID(ctx, b.db, fork)
	if err != nil {
		return nil, b.wrap(err)
	}
	plans, done, err := plansOf(ctx, b.db, id)
	if err != nil {
		return nil, b.wrap(err)
	}
	var out []Due
	for _, p := range plans {
		d := Due{Plan: p}
		for _, s := range done {
			if s.What == p.What && s.At.After(d.LastAt) {
				d.LastAt = s.At
			}
		}
		err := b.db.QueryRowContext(ctx, "SELECT coalesce(sum(riding_s), 0) / 3600.0 FROM run WHERE fork_id = ? AND ridden_at > ?", id, toMS(d.LastAt)).Scan(&d.Hours)
		if err != nil {
			return nil, b.wrap(err)
		}
		out = append(out, d)
	}
	return out, nil
}

func plansOf(ctx context.Context, q querier, fork int64) ([]Plan, []Service, error) {
	var plans []Plan
	err := each(ctx, q, func(rows *sql.Rows) error {
		var p Plan
		err := rows.Scan(&p.What, &p.EveryHours)
		plans = append(plans, p)
		return err
	}, "SELECT what, every_hours FROM service_plan WHERE fork_id = ? ORDER BY what", fork)
	if err != nil {
		return nil, nil, err
	}
	var done []Service
	err = each(ctx, q, func(rows *sql.Rows) error {
		var s Service
		var at int64
		err := rows.Scan(&s.What, &at)
		s.At = fromMS(at)
		done = append(done, s)
		return err
	}, "SELECT what, at FROM service WHERE fork_id = ? ORDER BY at, id", fork)
	return plans, done, err
}

func decodeSetup(content string) (*Setup, error) {
	var s Setup
	if err := json.Unmarshal([]byte(content), &s); err != nil {
		return nil, fmt.Errorf("a setup in the logbook cannot be read: %w", err)
	}
	return &s, nil
}
