package logbook

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
)

// A Query picks runs. Empty fields pick all.
type Query struct {
	Fork, Bike, Trail, Session string
	Since, Until               time.Time         // ridden at or after, before
	Text                       string            // somewhere in the run's name, file or notes
	Settings                   map[string]string // by the names of Setup.Values, with these values
	Limit                      int               // the newest so many; 0 = all
}

// Runs lists runs in the order ridden, without notes and fork files.
func (b *Logbook) Runs(ctx context.Context, q Query) ([]Run, error) {
	runs, err := runs(ctx, b.db, q)
	return runs, b.wrap(err)
}

func runs(ctx context.Context, db querier, q Query) ([]Run, error) {
	where, args := q.where()
	text := selectRuns + where + " ORDER BY run.ridden_at DESC, run.id DESC"
	if q.Limit > 0 && len(q.Settings) == 0 {
		text, args = text+" LIMIT ?", append(args, q.Limit)
	}
	s, err := newScanner(ctx, db)
	if err != nil {
		return nil, err
	}
	if err := s.readSetups(ctx, db, ""); err != nil {
		return nil, err
	}
	rows, err := db.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := []Run{}
	for rows.Next() && (q.Limit == 0 || len(out) < q.Limit) {
		r, _, err := s.scan(rows)
		if err != nil {
			return nil, err
		}
		if len(q.Settings) == 0 || r.Setup.has(q.Settings) {
			out = append(out, r)
		}
	}
	slices.Reverse(out)
	return out, rows.Err()
}

// where is the condition of the query. Every value is a bound parameter.
func (q Query) where() (string, []any) {
	var parts []string
	var args []any
	add := func(part string, values ...any) { parts, args = append(parts, part), append(args, values...) }
	for _, c := range []struct{ part, value string }{
		{"run.fork_id = (SELECT id FROM fork WHERE name = ?)", q.Fork},
		{"run.fork_id IN (SELECT fork.id FROM fork JOIN bike ON bike.id = fork.bike_id WHERE bike.name = ?)", q.Bike},
		{"run.trail_id = (SELECT id FROM trail WHERE name = ?)", q.Trail},
		{"run.session_id = (SELECT id FROM session WHERE name = ?)", q.Session},
	} {
		if c.value != "" {
			add(c.part, c.value)
		}
	}
	if !q.Since.IsZero() {
		add("run.ridden_at >= ?", toMS(q.Since))
	}
	if !q.Until.IsZero() {
		add("run.ridden_at < ?", toMS(q.Until))
	}
	if q.Text != "" {
		like := "%" + strings.NewReplacer(`\`, `\\`, "%", `\%`, "_", `\_`).Replace(q.Text) + "%"
		add(`(run.name LIKE ? ESCAPE '\' OR run.file LIKE ? ESCAPE '\' OR EXISTS (SELECT 1 FROM note WHERE note.run_id = run.id AND note.text LIKE ? ESCAPE '\'))`, like, like, like)
	}
	if len(parts) == 0 {
		return "", nil
	}
	return "WHERE " + strings.Join(parts, " AND "), args
}

func (s Setup) has(want map[string]string) bool {
	values := s.Values()
	for k, v := range want {
		if values[k] != v {
			return false
		}
	}
	return true
}

// A Group is runs of one fork on one trail that differ in one setting only.
type Group struct {
	Runs   []Run    // in the order ridden
	Values []string // of the setting that varies, each once, in order
}

// Vary finds the runs in which only the setting of that name differs (and the temperature, which nobody can hold): the largest group
// first. Runs in which it is not known are left out.
func Vary(runs []Run, name string) []Group {
	groups := map[string]*Group{}
	for _, r := range runs {
		values := r.Setup.Values()
		v, ok := values[name]
		if !ok {
			continue
		}
		delete(values, name)
		delete(values, "temperature_c")
		key := r.Fork.Name + "\x00" + r.Trail
		for _, k := range slices.Sorted(maps.Keys(values)) {
			key += "\x00" + k + "=" + values[k]
		}
		g := groups[key]
		if g == nil {
			g = &Group{}
			groups[key] = g
		}
		g.Runs = append(g.Runs, r)
		if !slices.Contains(g.Values, v) {
			g.Values = append(g.Values, v)
		}
	}
	var out []Group
	for _, k := range slices.Sorted(maps.Keys(groups)) {
		if g := groups[k]; len(g.Values) > 1 {
			slices.SortFunc(g.Values, byNumber)
			out = append(out, *g)
		}
	}
	slices.SortStableFunc(out, func(x, y Group) int { return cmp.Compare(len(y.Runs), len(x.Runs)) })
	return out
}

// byNumber orders texts as numbers where both are.
func byNumber(a, b string) int {
	x, errX := parseNumber(a)
	y, errY := parseNumber(b)
	if errX != nil || errY != nil {
		return cmp.Compare(a, b)
	}
	return cmp.Compare(x, y)
}

// A Point is one run of a trend.
type Point struct {
	Run   Run
	Value float64
	N     int
}

// A Trend is one figure over runs, in the order ridden.
type Trend struct {
	Points            []Point
	Absent            int // runs that were picked but do not have the figure
	Low, Median, High float64
	Definitions       int // different definitions that the figures were computed by
}

// Trend lists one figure over the runs that q picks.
func (b *Logbook) Trend(ctx context.Context, key string, q Query) (Trend, error) {
	picked, err := runs(ctx, b.db, q)
	if err != nil {
		return Trend{}, b.wrap(err)
	}
	values := map[int64]Point{}
	err = each(ctx, b.db, func(rows *sql.Rows) error {
		var id int64
		var p Point
		err := rows.Scan(&id, &p.Value, &p.N)
		values[id] = p
		return err
	}, "SELECT run_id, value, n FROM figure WHERE key = ? AND value IS NOT NULL", key)
	if err != nil {
		return Trend{}, b.wrap(err)
	}
	var t Trend
	definitions := map[string]bool{}
	for _, r := range picked {
		p, ok := values[r.ID]
		if !ok {
			t.Absent++
			continue
		}
		p.Run = r
		t.Points = append(t.Points, p)
		definitions[fmt.Sprint(r.SchemaVersion, r.Definitions)] = true
	}
	t.Definitions = len(definitions)
	t.sum()
	return t, nil
}

// sum sets the ends and the median.
func (t *Trend) sum() {
	if len(t.Points) == 0 {
		return
	}
	var v []float64
	for _, p := range t.Points {
		v = append(v, p.Value)
	}
	slices.Sort(v)
	n := len(v)
	t.Low, t.Median, t.High = v[0], (v[(n-1)/2]+v[n/2])/2, v[n-1]
}

// Keys lists the keys of all figures in the book.
func (b *Logbook) Keys(ctx context.Context) ([]string, error) {
	var out []string
	// A step from key to key along the index, instead of a walk over every figure.
	err := each(ctx, b.db, func(rows *sql.Rows) error {
		var k string
		err := rows.Scan(&k)
		out = append(out, k)
		return err
	}, `WITH RECURSIVE k(key) AS (SELECT min(key) FROM figure UNION ALL
		SELECT (SELECT min(key) FROM figure WHERE key > k.key) FROM k WHERE k.key IS NOT NULL) SELECT key FROM k WHERE key IS NOT NULL`)
	return out, b.wrap(err)
}
