package report

// A table is drawn in a box of its own that scrolls sideways where the page is narrow.
type table struct {
	Caption string
	Heads   []head
	Rows    []row
	Empty   string // said where there are no rows
}

type head struct {
	Text, Unit string
	Number     bool
	Words      bool // long text: keep the column wide enough to read
}

type row struct {
	Cells []cell
	Link  *link      // where on the trace the row is
	Place *placeLink // where on the map
}

// A placeLink is a place on the map that the reader can be taken to.
type placeLink struct {
	StationM float64
	Text     string
}

type cell struct {
	Text string
	Note string  // reason of an absent figure
	Bar  float64 // 0..100: a bar under the text, 0 for none
	Best bool    // the best of its column: set off by colour, beside a sign in the text
}

func text(s string) cell { return cell{Text: s} }

// figureCell is a figure as a cell, with the reason on the spot where it is absent.
func figureCell(s shown) cell {
	c := cell{Text: s.Text}
	if s.Absent {
		c.Note = s.Why
	}
	return c
}

// texts makes a row of plain cells.
func texts(s ...string) row {
	r := row{}
	for _, t := range s {
		r.Cells = append(r.Cells, text(t))
	}
	return r
}

// A figureRow is a line of a list of figures.
type figureRow struct {
	Name  string
	Value shown
	Hint  string // what the figure means, in a clause
}
