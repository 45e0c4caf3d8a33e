package signal

// A Cycle is one rainflow cycle or half cycle.
type Cycle struct {
	Range, Mean float64
	Count       float64 // 1 or 0.5
	Start, End  int     // indices into the points
}

// Rainflow counts the cycles of a series of turning points by ASTM E1049-85 §5.4.4. The sum of the counts is
// (len(points)−1)/2.
func Rainflow(points []float64) []Cycle { panic("not written yet") }
