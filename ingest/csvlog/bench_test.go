package csvlog

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// benchLog writes a log of the given length at 1 kHz: a µs counter and 12-bit counts.
func benchLog(b *testing.B, minutes int) string {
	b.Helper()
	text := []byte("t_us,fork [counts]\n")
	for i := range minutes * 60000 {
		text = strconv.AppendInt(text, int64(i)*1000, 10)
		text = append(text, ',')
		text = strconv.AppendInt(text, int64(1200+900*math.Sin(float64(i)/37)), 10)
		text = append(text, '\n')
	}
	path := filepath.Join(b.TempDir(), "log.csv")
	if err := os.WriteFile(path, text, 0o600); err != nil {
		b.Fatal(err)
	}
	return path
}

// BenchmarkDialects reads 5 min of the slower ways to write a log.
func BenchmarkDialects(b *testing.B) {
	for name, row := range map[string]string{
		"spaces": "%10.3f %10.2f\n", "quotes": "\"%.3f\",\"%.2f\"\n", "decimal comma": "%.3f;%.2f\n", "dates": "2026-05-03T10:%02d:%06.3fZ,%.2f\n",
	} {
		b.Run(name, func(b *testing.B) {
			text := []byte("time_s travel_mm\n")
			if row[0] != '%' || row[1] != '1' {
				text = []byte("time_s,travel_mm\n")
			}
			if name == "decimal comma" {
				text = []byte("time_s;travel_mm\n")
			}
			for i := range 300000 {
				args := []any{float64(i) / 1000, 80 + 70*math.Sin(float64(i)/37)}
				if name == "dates" {
					args = []any{i / 60000, float64(i%60000) / 1000, args[1]}
				}
				text = fmt.Appendf(text, row, args...)
			}
			if name == "decimal comma" {
				text = bytes.ReplaceAll(text, []byte("."), []byte(","))
			}
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				rec, err := ReadFrom(context.Background(), bytes.NewReader(text), "log", Options{})
				if err != nil {
					b.Fatal(err)
				}
				if len(rec.Travel) != 300000 {
					b.Fatalf("%d samples", len(rec.Travel))
				}
			}
		})
	}
}

func BenchmarkRead(b *testing.B) {
	for _, minutes := range []int{5, 60} {
		b.Run(fmt.Sprintf("%dmin", minutes), func(b *testing.B) {
			path := benchLog(b, minutes)
			info, err := os.Stat(path)
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(info.Size())
			b.ReportAllocs()
			for b.Loop() {
				rec, err := Read(context.Background(), path, Options{})
				if err != nil {
					b.Fatal(err)
				}
				if len(rec.Travel) != minutes*60000 {
					b.Fatalf("%d samples", len(rec.Travel))
				}
			}
		})
	}
}
