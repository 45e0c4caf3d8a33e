package ridesim

import (
	"bufio"
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"time"

	"stanchion/ingest"
)

// WriteGPX writes a track as GPX 1.1: one trkseg a piece, elements in the order of the schema (ele, time, extensions). GPX 1.1 has no element for
// speed; it goes into the extensions, under a namespace of the simulator's own. Times are in UTC with as many decimals of a second as they need, up to three.
func WriteGPX(w io.Writer, t *ingest.Track) error {
	b := bufio.NewWriter(w)
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="stanchion simulator" xmlns="http://www.topografix.com/GPX/1/1" xmlns:s="urn:stanchion:simulator">
 <trk>
  <name>`)
	if err := xml.EscapeText(b, []byte(t.Source)); err != nil {
		return err
	}
	b.WriteString("</name>\n")
	var line []byte
	for i, f := range t.Fixes {
		if i == 0 || f.Piece != t.Fixes[i-1].Piece {
			if i > 0 {
				b.WriteString("  </trkseg>\n")
			}
			b.WriteString("  <trkseg>\n")
		}
		line = appendPoint(line[:0], t.Start, f)
		b.Write(line)
	}
	if len(t.Fixes) > 0 {
		b.WriteString("  </trkseg>\n")
	}
	b.WriteString(" </trk>\n</gpx>\n")
	return b.Flush() // reports the first error of all writes
}

func appendPoint(line []byte, start time.Time, f ingest.Fix) []byte {
	line = append(line, ` <trkpt lat="`...)
	line = strconv.AppendFloat(line, f.LatDeg, 'f', 7, 64)
	line = append(line, `" lon="`...)
	line = strconv.AppendFloat(line, f.LonDeg, 'f', 7, 64)
	line = append(line, `">`...)
	if !math.IsNaN(f.EleM) {
		line = append(line, "<ele>"...)
		line = strconv.AppendFloat(line, f.EleM, 'f', -1, 64)
		line = append(line, "</ele>"...)
	}
	if !math.IsNaN(f.TimeS) {
		at := start.Add(time.Duration(math.Round(f.TimeS*timeSteps)) * (time.Second / timeSteps))
		line = append(line, "<time>"...)
		line = at.UTC().AppendFormat(line, "2006-01-02T15:04:05.999Z")
		line = append(line, "</time>"...)
	}
	if !math.IsNaN(f.SpeedMS) {
		line = append(line, "<extensions><s:speed>"...)
		line = strconv.AppendFloat(line, f.SpeedMS, 'f', -1, 64)
		line = append(line, "</s:speed></extensions>"...)
	}
	return append(line, "</trkpt>\n"...)
}
