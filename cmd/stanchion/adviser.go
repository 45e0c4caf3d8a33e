package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"stanchion/analyze/advice"
	"stanchion/ingest"
	"stanchion/ingest/logbook"
	"stanchion/ingest/setup"
)

// rulesFlag picks the table of rules.
type rulesFlag struct{ file string }

func (f *rulesFlag) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.file, "rules", "", "table of rules, a `file` of your own (see 'stanchion advise --rules-print')")
}

// builtInRules names the table that comes with the program.
const builtInRules = "the table of the program"

// table reads the table of rules and checks that every figure in it exists.
func (f *rulesFlag) table() (ingest.RuleTable, error) {
	var t ingest.RuleTable
	var err error
	if f.file == "" {
		t, err = setup.ParseRules(builtInRules, []byte(setup.DefaultRules()))
	} else {
		t, err = setup.LoadRules(f.file)
	}
	if err == nil {
		err = advice.Check(t)
	}
	if err != nil {
		return t, usageError{err}
	}
	return t, nil
}

// advise says what to change next after a run; now is how the fork was set, earlier what was tried.
func (p *pipeline) advise(run *analysed, table ingest.RuleTable, now map[string]float64, earlier []advice.Earlier) (*advice.Advice, error) {
	file, _, err := p.input.setupFor(run.log, p.changed)
	if err != nil {
		return nil, err
	}
	in := advice.Input{Table: table, Result: run.result, Now: now, Earlier: earlier, Limits: advice.Limits{Adjusters: file.Setup.Adjusters}}
	if s := file.Setup.Spring; s != nil {
		in.Limits.MaxPressurePSI, in.Limits.MaxSpacers = s.MaxPressurePSI, s.MaxSpacers
	}
	a, err := advice.Advise(in)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", run.log, err)
	}
	return a, nil
}

// ruleSettings are the numbers of a setup by the names that rules use.
func ruleSettings(s *logbook.Setup) map[string]float64 {
	out := map[string]float64{}
	if s.PressurePSI != nil {
		out[ingest.RulePressure] = *s.PressurePSI
	}
	if s.Spacers != nil {
		out[ingest.RuleSpacers] = *s.Spacers
	}
	for name, v := range s.Clicks {
		out[name] = v
	}
	return out
}

// memory is what a logbook tells about a run: how the fork was set for it, and what else was tried on the same fork and trail.
type memory struct {
	setup   logbook.Setup
	trail   string
	earlier []advice.Earlier
}

// mostEarlier bounds how many runs are looked back at.
const mostEarlier = 300

// recall looks a run up in the logbook. trail is where it was ridden, "" = as the book says.
func recall(ctx context.Context, b *logbook.Logbook, run *analysed, trail string) (memory, error) {
	m := memory{trail: trail}
	fork := run.result.Fork.Name
	if fork == "" {
		fork = fmt.Sprintf("%g mm fork", run.result.Fork.TravelMM)
	}
	hash, err := hashOf(run.log)
	if err != nil {
		return m, err
	}
	filed, err := b.Run(ctx, hash)
	switch {
	case err == nil:
		m.setup, fork = filed.Setup, filed.Fork.Name
		if m.trail == "" {
			m.trail = filed.Trail
		}
	case !errors.Is(err, logbook.ErrNoRun):
		return m, err
	default:
		if m.setup, err = mountedOn(ctx, b, fork); err != nil {
			return m, err
		}
	}
	if m.trail == "" {
		return m, nil
	}
	runs, err := b.Runs(ctx, logbook.Query{Fork: fork, Trail: m.trail, Limit: mostEarlier})
	if err != nil {
		return m, err
	}
	for i := range runs {
		r := &runs[i]
		set := ruleSettings(&r.Setup)
		if r.Hash == hash || len(set) == 0 {
			continue
		}
		e := advice.Earlier{Name: fmt.Sprintf("run %d", r.ID), When: r.RiddenAt.Local().Format("2006-01-02"), Settings: set, Figures: map[string]float64{}}
		figures, err := b.FiguresOf(ctx, r.ID)
		if err != nil {
			return m, err
		}
		for _, f := range figures {
			if f.Value != nil {
				e.Figures[f.Key] = *f.Value
			}
		}
		m.earlier = append(m.earlier, e)
	}
	return m, nil
}

// hashOf is the SHA-256 of a file, by which the logbook knows recordings.
func hashOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("read %s: %w", path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
