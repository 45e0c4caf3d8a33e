package gpx

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"stanchion/ingest"
)

// A kind says what an element is to the reader.
type kind uint8

const (
	other      kind = iota // of no interest, nor is anything in it
	root                   // gpx
	trk                    // a track
	trkseg                 // a stretch of it without loss of reception
	trkpt                  // a point
	ele                    // its elevation
	when                   // its time
	speed                  // its speed: GPX 1.0, or an extension
	extensions             // of a point
	extended               // within extensions: only a speed is looked for
	outside                // before the root
)

// An element is one that is open.
type element struct {
	kind kind
	name xml.Name
}

// A point is a fix with what is needed to judge it.
type point struct {
	fix  ingest.Fix
	at   time.Time // zero where there was none
	line int
}

// A parser reads a GPX document.
type parser struct {
	dec       *xml.Decoder
	guard     *guard
	maxPoints int
	prefix    string // of the root's name: GPX's own elements have the same
	open      []element
	text      []byte // of the innermost element, if it is one that is read

	points []point
	now    point  // being read
	bad    string // why the point being read cannot be used
	piece  int    // of the next point
	filled bool   // the piece has a point

	rows      ingest.RowCount
	tracks    int
	routes    int
	waypoints int
	noZone    int  // times without a zone
	leaps     int  // times within a leap second
	badTime   int  // times that could not be read
	badEle    int  // elevations that could not be read
	ownSpeed  bool // a speed came from an extension
	newSpace  bool // the namespace is none of GPX
	cut       bool // the file ends before its root does
}

func newParser(g *guard, maxPoints int) *parser {
	p := &parser{guard: g, maxPoints: maxPoints}
	p.dec = xml.NewDecoder(g)
	p.dec.CharsetReader = charset
	return p
}

// parse reads to the end of the root element.
func (p *parser) parse() error {
	for {
		p.guard.next()
		token, err := p.dec.RawToken()
		if err != nil {
			return p.failed(err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			if err := p.start(t); err != nil {
				return err
			}
		case xml.EndElement:
			done, err := p.end(t.Name)
			if err != nil || done {
				return err
			}
		case xml.CharData:
			if len(p.open) > 0 {
				if k := p.open[len(p.open)-1].kind; k == ele || k == when || k == speed {
					p.text = append(p.text, t...)
				}
			} else if len(bytes.TrimSpace(bytes.TrimPrefix(t, []byte("\ufeff")))) > 0 {
				return notGPX()
			}
		case xml.Directive:
			return ingest.Hinted{Err: errors.New("a document type declaration: GPX has none, and entities are not read"),
				Hint: "export the track again, or delete the <!DOCTYPE …> line"}
		}
	}
}

func notGPX() error {
	return ingest.Hinted{Err: errors.New("this is not a GPX file"), Hint: "export the activity as GPX 1.1"}
}

// failed says what the decoder stumbled over. A file that just ends has lost its tail only.
func (p *parser) failed(err error) error {
	switch {
	case p.guard.ended && len(p.points) > 0:
		p.cut = true
		return nil
	case p.guard.ended && len(p.open) == 0:
		return notGPX()
	case p.guard.ended:
		return ingest.Hinted{Err: errors.New("the file ends before its first track point"), Hint: "the file is damaged: copy it again"}
	case p.guard.err != nil && p.guard.err != io.EOF:
		return p.guard.err
	}
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		return fmt.Errorf("not well-formed XML: %s", syntax.Msg)
	}
	return err
}

// parent is the kind of the innermost open element.
func (p *parser) parent() kind {
	if len(p.open) == 0 {
		return outside
	}
	return p.open[len(p.open)-1].kind
}

func (p *parser) start(t xml.StartElement) error {
	if len(p.open) == maxDepth {
		return fmt.Errorf("elements lie over %d deep within each other", maxDepth)
	}
	k, err := p.classify(t)
	if err != nil {
		return err
	}
	p.open = append(p.open, element{k, t.Name})
	p.text = p.text[:0]
	switch k {
	case trk:
		p.tracks++
		p.endPiece()
	case trkseg:
		p.endPiece()
	case trkpt:
		return p.startPoint(t.Attr)
	}
	return nil
}

// endPiece makes the next point one of a new piece.
func (p *parser) endPiece() {
	if p.filled {
		p.piece++
		p.filled = false
	}
}

// classify tells what an element is. Elements of GPX itself have the prefix that the root has; what stands in an element
// that is of no interest is of none either.
func (p *parser) classify(t xml.StartElement) (kind, error) {
	name := t.Name.Local
	parent := p.parent()
	switch parent {
	case outside:
		if name != "gpx" {
			return other, notGPX()
		}
		p.prefix = t.Name.Space
		p.newSpace = !knownSpace(t.Attr, p.prefix)
		return root, nil
	case extensions, extended:
		if name == "speed" {
			return speed, nil
		}
		return extended, nil
	case other, ele, when, speed:
		return other, nil
	}
	if t.Name.Space != p.prefix {
		return other, nil
	}
	switch {
	case parent == root && name == "trk":
		return trk, nil
	case parent == root && name == "rte":
		p.routes++
	case parent == root && name == "wpt":
		p.waypoints++
	case parent == trk && name == "trkseg":
		return trkseg, nil
	case parent == trkseg && name == "trkpt":
		return trkpt, nil
	case parent == trkpt:
		switch name {
		case "ele":
			return ele, nil
		case "time":
			return when, nil
		case "speed":
			return speed, nil
		case "extensions":
			return extensions, nil
		}
	}
	return other, nil
}

// knownSpace tells whether the root's namespace is one of GPX. A root without one is taken as GPX too.
func knownSpace(attrs []xml.Attr, prefix string) bool {
	for _, a := range attrs {
		if prefix == "" && a.Name.Space == "" && a.Name.Local == "xmlns" || a.Name.Space == "xmlns" && a.Name.Local == prefix {
			return strings.HasPrefix(a.Value, "http://www.topografix.com/GPX/1/") // 0 or 1
		}
	}
	return prefix == ""
}

func (p *parser) startPoint(attrs []xml.Attr) error {
	if len(p.points) >= p.maxPoints {
		return ingest.Hinted{Err: fmt.Errorf("over %d track points", p.maxPoints), Hint: "is this the track of one run? Cut it down to the day"}
	}
	line, _ := p.dec.InputPos()
	p.now = point{line: line, fix: ingest.Fix{TimeS: math.NaN(), EleM: math.NaN(), SpeedMS: math.NaN(), LatDeg: math.NaN(), LonDeg: math.NaN()}}
	p.bad = ""
	for _, a := range attrs {
		switch {
		case a.Name.Space != "":
		case a.Name.Local == "lat":
			p.now.fix.LatDeg = p.degrees("lat", a.Value, 90)
		case a.Name.Local == "lon":
			p.now.fix.LonDeg = p.degrees("lon", a.Value, 180)
		}
	}
	f := &p.now.fix
	switch {
	case p.bad != "":
	case math.IsNaN(f.LatDeg) || math.IsNaN(f.LonDeg):
		p.bad = "a track point without lat and lon"
	case f.LatDeg == 0 && f.LonDeg == 0:
		p.bad = "lat 0, lon 0: the receiver had no fix"
	}
	if f.LonDeg == 180 {
		f.LonDeg = -180
	}
	return nil
}

// degrees reads a coordinate and notes why it cannot be used.
func (p *parser) degrees(name, text string, limit float64) float64 {
	v, ok := decimal(text)
	switch {
	case !ok:
		p.bad = fmt.Sprintf("%s %s is not a number", name, short(text))
		return math.NaN()
	case math.Abs(v) > limit:
		p.bad = fmt.Sprintf("%s %s is not between -%g and %g", name, short(text), limit, limit)
		return math.NaN()
	}
	return v
}

// end closes the innermost element; done says that it was the root.
func (p *parser) end(name xml.Name) (done bool, err error) {
	if len(p.open) == 0 {
		return false, notGPX()
	}
	e := p.open[len(p.open)-1]
	if e.name != name {
		return false, fmt.Errorf("not well-formed XML: <%s> is closed by </%s>", e.name.Local, name.Local)
	}
	p.open = p.open[:len(p.open)-1]
	switch e.kind {
	case ele:
		p.now.fix.EleM = p.number(&p.badEle)
	case when:
		p.time()
	case speed:
		p.speed()
	case trkpt:
		p.endPoint()
	}
	p.text = p.text[:0]
	return e.kind == root, nil
}

// number reads the text of an element, NaN where it is none.
func (p *parser) number(bad *int) float64 {
	v, ok := decimal(string(bytes.TrimSpace(p.text)))
	if !ok {
		*bad++
		return math.NaN()
	}
	return v
}

// Times outside these years are those of a clock that was not set.
const firstYear, lastYear = 1970, 2099

// maxSpeedMS is the most that is believed of a speed.
const maxSpeedMS = 150

func (p *parser) speed() {
	v, ok := decimal(string(bytes.TrimSpace(p.text)))
	if !ok || v < 0 || v > maxSpeedMS {
		return
	}
	p.now.fix.SpeedMS = v
	if p.parent() != trkpt {
		p.ownSpeed = true
	}
}

func (p *parser) time() {
	t, ok := parseTime(bytes.TrimSpace(p.text))
	if y := t.at.Year(); !ok || y < firstYear || y > lastYear {
		p.badTime++
		return
	}
	// Whole µs, so that times that differ here differ in s from the start too.
	p.now.at = t.at.Truncate(time.Microsecond)
	if !t.zoned {
		p.noZone++
	}
	if t.leap {
		p.leaps++
	}
}

func (p *parser) endPoint() {
	p.rows.Data++
	if p.bad != "" {
		p.leaveOut(p.now.line, p.bad)
		return
	}
	p.now.fix.Piece = p.piece
	p.filled = true
	p.points = append(p.points, p.now)
}

// leaveOut counts a point that is not used.
func (p *parser) leaveOut(line int, reason string) {
	p.rows.Bad++
	if len(p.rows.First) < maxBadFew {
		p.rows.First = append(p.rows.First, ingest.BadRow{Line: line, Reason: reason})
	}
}

// decimal reads a finite number.
func decimal(text string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

// short quotes text for a message.
func short(text string) string {
	const most = 40
	if r := []rune(text); len(r) > most {
		return strconv.Quote(string(r[:most])) + "…"
	}
	return strconv.Quote(text)
}
