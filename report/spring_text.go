package report

import (
	"fmt"
	"io"
	"strconv"

	"stanchion/analyze/spring"
)

// SpringText writes a spring in a screen of 80 columns: the caution and the answer first, then the settings.
func SpringText(w io.Writer, a *spring.Answer, head SpringHead, opt TextOptions) error {
	t := &screen{color: opt.Color}
	t.wrap(springTitle(a, head)+"; "+springSub(a, head)+".", 2, "")
	t.wrap(a.Caution+".", 3, warnColor)
	t.wrap(springLine(a), 6, boldColor)
	if len(a.Notes) > 0 {
		t.wrap("Note: "+a.Notes[0]+".", 4, "")
	}
	t.line("")
	air := a.Kind == "air"
	titles := springTitles(air)
	t.settings(titles, "", "")
	for _, s := range []*spring.Setting{a.AsSet, a.Target} {
		if s != nil {
			t.settings(titles, s.Name, s.Refused, settingNumbers(s, air)...)
		}
	}
	if m := a.Moved; m != nil {
		t.line("At " + place(m.To) + ":")
		for _, s := range []struct {
			name string
			s    *spring.Setting
		}{{"nothing done", &m.There}, {"same sag, pumped there", &m.TopUp}, {"same sag, pumped before", &m.PumpHere}} {
			t.settings(titles, s.name, s.s.Refused, settingNumbers(s.s, air)...)
		}
	}
	if len(a.Spacer) > 0 {
		t.line("The same sag with:")
		for i := range a.Spacer {
			s := &a.Spacer[i]
			t.settings(titles, s.Name, s.Refused, settingNumbers(s, air)...)
		}
	}
	if _, err := io.WriteString(w, t.out.String()); err != nil {
		return fmt.Errorf("summary: %w", err)
	}
	return nil
}

// springTitles are the columns of the terminal's table.
func springTitles(air bool) []string {
	if air {
		return []string{"psi", "bar", "spacers", "sag mm", "sag %", "end N", "end J"}
	}
	return []string{"sag mm", "sag %", "end N", "end J"}
}

// settingNumbers are the figures of a setting under these columns, nil where it is refused.
func settingNumbers(s *spring.Setting, air bool) []string {
	f := s.Figures
	if f == nil {
		return nil
	}
	var out []string
	if air {
		out = []string{fixed(f.Pressure.PSI(), 1), fixed(f.Pressure.Bar(), 2), strconv.Itoa(s.Spacers)}
	}
	return append(out, fixed(f.SagMM, 1), fixed(f.SagPct, 1), fixed(f.ForceEndN, 0), fixed(f.EnergyEndJ, 0))
}

// settings writes one line of the table, its titles where there is no name.
func (t *screen) settings(titles []string, name, refused string, numbers ...string) {
	s := padRunes(sentence(name), 25)
	if refused != "" {
		t.line(clip(s+" "+refused, textColumns))
		return
	}
	if name == "" {
		numbers = titles
	}
	for i, n := range numbers {
		s += padLeft(n, len(titles[i])+2+max(0, 5-len(titles[i])))
	}
	t.line(clip(s, textColumns))
}
