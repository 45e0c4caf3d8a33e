package trial

import (
	"fmt"
	"io"
	"strings"
)

// Text writes the table in 80 columns.
func (t *Table) Text(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%-34s %-18s %5s  %s\n", "Simulated fork", "right answer", "first", "otherwise")
	for i := range t.Rows {
		r := &t.Rows[i]
		var parts []string
		for _, a := range r.others() {
			parts = append(parts, fmt.Sprintf("%s %d", a, r.Answers[a]))
		}
		fmt.Fprintf(&b, "%-34s %-18s %2d/%-2d  %s\n", r.Fault, r.Want, r.Right, r.Cases, strings.Join(parts, ", "))
	}
	fmt.Fprintf(&b, "\nOne known fault: the right change first in %d of %d (%.1f %%).\n", t.Right, t.Faulty, percent(t.Right, t.Faulty))
	fmt.Fprintf(&b, "Sound forks: nothing to change in %d of %d (%.1f %%).\n", t.SoundRight, t.Sound, percent(t.SoundRight, t.Sound))
	_, err := io.WriteString(w, b.String())
	return err
}

func percent(a, b int) float64 { return 100 * float64(a) / float64(max(1, b)) }
