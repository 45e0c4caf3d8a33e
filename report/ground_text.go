package report

import (
	"fmt"
	"strings"
)

// textPlaces is how many harsh places are written to the terminal.
const textPlaces = 2

// groundFigures are the lines of a summary about the trail: the harshest places, jumps, braking.
func groundFigures(g *Ground) []figureRow {
	if g == nil || g.Reading == nil {
		return nil
	}
	r := g.Reading
	var out []figureRow
	for i := range r.Coach[:min(textPlaces, len(r.Coach))] {
		c := &r.Coach[i]
		p := &r.Places[c.Place]
		words := []string{stretch(p.StartM, p.EndM)}
		if p.PassedBy > 1 {
			words = append(words, agreement("rough", p.Sighting))
		}
		out = append(out, figureRow{fmt.Sprintf("Harsh place %d", c.Rank), shown{Text: strings.Join(append(words, lowerFirst(placeCause(c.Cause))), "; ")}, ""})
	}
	if len(r.Coach) == 0 {
		out = append(out, figureRow{"Harsh places", shown{Text: "none stands out"}, ""})
	}
	return append(out, figureRow{"On the trail", shown{Text: count(len(r.Jumps), "jump", "jumps") + ", " + count(len(r.Braking), "braking zone", "braking zones") + ", bottom-outs at " + count(len(r.Bottoms), "place", "places")}, ""})
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }
