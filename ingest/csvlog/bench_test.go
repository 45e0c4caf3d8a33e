package csvlog

import (
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
