package report

import (
	"fmt"
	"sort"
	"strings"

	"stanchion/analyze"
)

// A link is a stretch of the run that the reader can be taken to.
type link struct {
	FromS, ToS float64
	Text       string
}

// around is a link to a moment, with enough before and after to see what led to it.
func around(t float64, text string) *link {
	return &link{FromS: max(0, t-1.5), ToS: t + 1.5, Text: text}
}

// A verdict is the run in a few sentences.
type verdict struct {
	Poor []string // doubts that come first
	Line string   // what happened
	Look []link   // what is most worth looking at, at most three
}

// judge puts a run into words. It says only what the figures say.
func judge(r *analyze.Result) verdict {
	var v verdict
	for _, c := range r.Caveats {
		if c.Severity == analyze.Warning {
			v.Poor = append(v.Poor, sentence(strings.TrimSuffix(c.Text, ".")))
		}
	}
	if _, ok := r.Ride.RidingS.Get(); !ok {
		v.Poor = append(v.Poor, "Riding time is not known: "+r.Ride.RidingS.Reason())
	}
	var sentences []string
	for _, p := range []string{useWords(r), and(sinkWords(r), packingWords(r)), ratioWords(r)} {
		if p != "" {
			sentences = append(sentences, sentence(p)+".")
		}
	}
	v.Line = "Too little could be computed to sum this run up."
	if len(sentences) > 0 {
		v.Line = strings.Join(sentences, " ")
	}
	v.Look = worthALook(r)
	return v
}

// and joins what there is of two clauses.
func and(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + " and " + b
}

func useWords(r *analyze.Result) string {
	used, ok := r.Travel.MaxPct.Get()
	if !ok {
		return ""
	}
	s := "used " + percent(used) + " of the travel"
	n, ok := r.Travel.BottomOuts.Get()
	if !ok {
		return s
	}
	hard := int(r.Travel.BottomHard.Or(0))
	switch {
	case hard > 0 && hard == int(n):
		return s + ", with " + count(hard, "hard bottom-out", "hard bottom-outs")
	case hard > 0:
		return s + fmt.Sprintf(", with %s, %d of them hard", count(int(n), "bottom-out", "bottom-outs"), hard)
	}
	return s + ", with " + count(int(n), "bottom-out", "bottom-outs")
}

func sinkWords(r *analyze.Result) string {
	sink, ok := r.Packing.SinkInRoughPct.Get()
	if !ok {
		return ""
	}
	reference := r.Packing.Reference
	if reference == "" {
		reference = "static sag"
	}
	where := " in rough ground"
	if fixed(sink, 0) == "0" {
		return "rides level with the " + reference + where
	}
	if sink < 0 {
		return "rides " + percent(-sink) + " of travel higher than the " + reference + where
	}
	return "rides " + percent(sink) + " of travel deeper than the " + reference + where
}

func packingWords(r *analyze.Result) string {
	n, ok := r.Packing.Count.Get()
	if !ok {
		return ""
	}
	if n == 0 {
		return "did not pack down"
	}
	return "packed down over several hits " + times(int(n))
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func ratioWords(r *analyze.Result) string {
	q, ok := r.Velocity.ReboundRatio.Get()
	if !ok {
		return ""
	}
	pct := percent(100 * q)
	switch {
	case fixed(q, 2) == "1.00":
		return "fast rebound is as quick as fast compression"
	case q < 1:
		return "fast rebound runs at " + pct + " of the speed of fast compression"
	}
	return "fast rebound is quicker than fast compression (" + pct + " of its speed)"
}

// worthALook picks the places to look at first: the hardest bottom-out, the longest packing run, the harshest section.
func worthALook(r *analyze.Result) []link {
	var look []link
	if b := hardest(r.Travel.Bottoms); b != nil {
		kind := "the bottom-out"
		if b.Hard {
			kind = "the hard bottom-out"
		}
		look = append(look, *around(b.TimeS, fmt.Sprintf("%s at %s", kind, clock(b.TimeS))))
	}
	if len(r.Rough.Sections) > 0 {
		h := r.Rough.Sections[0]
		text := fmt.Sprintf("the harshest section, %s to %s", clock(h.StartS), clock(h.EndS))
		if len(h.Causes) > 0 {
			text += " (" + h.Causes[0] + ")"
		}
		look = append(look, link{h.StartS, h.EndS, text})
	}
	if runs := r.Packing.Runs; len(runs) > 0 {
		longest := runs[0]
		for _, p := range runs {
			if p.Valleys > longest.Valleys {
				longest = p
			}
		}
		look = append(look, link{max(0, longest.StartS-0.5), longest.EndS + 0.5,
			fmt.Sprintf("the longest packing run, %d valleys from %s", longest.Valleys, clock(longest.StartS))})
	}
	return look
}

// hardest is the bottom-out with the largest speed before it, nil where there was none.
func hardest(list []analyze.BottomOut) *analyze.BottomOut {
	if len(list) == 0 {
		return nil
	}
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool {
		a, b := list[order[i]], list[order[j]]
		if a.Hard != b.Hard {
			return a.Hard
		}
		return a.LargestMMS > b.LargestMMS
	})
	return &list[order[0]]
}
