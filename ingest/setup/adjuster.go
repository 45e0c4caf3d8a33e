package setup

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"stanchion/ingest"
)

// Bounds of adjusters: wide of any fork.
const (
	maxAdjusters = 50
	maxClicks    = 200
)

// adjusters reads the tables [adjuster.NAME].
func (c *checker) adjusters(s section) map[string]ingest.Adjuster {
	names := slices.Sorted(maps.Keys(s.values))
	if len(names) > maxAdjusters {
		c.add(s.path, "has more than %d adjusters", maxAdjusters)
		return nil
	}
	out := map[string]ingest.Adjuster{}
	for _, name := range names {
		a, ok := s.section(name)
		if !ok {
			continue
		}
		if !adjusterName.MatchString(name) {
			c.add(a.path, "must have a name in small letters, such as rebound, lsc or hsc")
		}
		out[name] = c.adjuster(a)
	}
	return out
}

func (c *checker) adjuster(s section) ingest.Adjuster {
	var a ingest.Adjuster
	known := s.number("clicks", &a.Clicks, 1, maxClicks)
	from := s.number("usable_from", &a.UsableFrom, 0, maxClicks)
	to := s.number("usable_to", &a.UsableTo, 0, maxClicks)
	switch {
	case from != to:
		c.add(s.path, "must have both of usable_from and usable_to, or none")
	case to && a.UsableTo <= a.UsableFrom:
		c.add(s.path+".usable_to", "is %g, but must be more than usable_from, %g", a.UsableTo, a.UsableFrom)
	case to && known && a.UsableTo > a.Clicks:
		c.add(s.path+".usable_to", "is %g, but the adjuster has %g clicks", a.UsableTo, a.Clicks)
	case !known && !to:
		c.add(s.path, "says nothing: give clicks, or usable_from and usable_to")
	}
	s.unknown()
	return a
}

// formatAdjusters writes the tables [adjuster.NAME].
func formatAdjusters(b *strings.Builder, adjusters map[string]ingest.Adjuster) {
	for _, name := range slices.Sorted(maps.Keys(adjusters)) {
		a := adjusters[name]
		fmt.Fprintf(b, "\n[adjuster.%s]\n", name)
		if a.Clicks != 0 {
			fmt.Fprintf(b, "clicks = %s\n", number(a.Clicks))
		}
		if a.UsableTo != 0 {
			fmt.Fprintf(b, "usable_from = %s\nusable_to = %s\n", number(a.UsableFrom), number(a.UsableTo))
		}
	}
}
