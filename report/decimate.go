package report

import (
	"encoding/base64"
	"encoding/binary"
	"io"
	"math"
)

// minMax thins x to the smallest and the largest value of each bucket of n samples, in the order in which they occur,
// so that no peak is lost. The last bucket may be shorter. It appends to dst; n = 1 copies x.
func minMax(dst, x []float64, n int) []float64 {
	if n <= 1 {
		return append(dst, x...)
	}
	for len(x) > 0 {
		bucket := x[:min(n, len(x))]
		x = x[len(bucket):]
		lo, hi := 0, 0
		for i, v := range bucket {
			if v < bucket[lo] {
				lo = i
			}
			if v > bucket[hi] {
				hi = i
			}
		}
		dst = append(dst, bucket[min(lo, hi)], bucket[max(lo, hi)])
	}
	return dst
}

// packScale is the step of a 1-2-5 series that lets every value of x fit an int16.
func packScale(finest float64, x ...[]float64) float64 {
	largest := 0.0
	for _, s := range x {
		for _, v := range s {
			if a := math.Abs(v); a > largest && !math.IsInf(a, 0) {
				largest = a
			}
		}
	}
	step := finest
	for i := 0; largest/step > math.MaxInt16; i++ {
		step *= [...]float64{2, 2.5, 2}[i%3]
	}
	return step
}

// pack writes x in units of step as base64 of little-endian int16. Values that are not finite become 0.
func pack(w io.Writer, x []float64, step float64) error {
	enc := base64.NewEncoder(base64.StdEncoding, w)
	var buf [4096]byte
	for len(x) > 0 {
		part := x[:min(len(buf)/2, len(x))]
		x = x[len(part):]
		for i, v := range part {
			q := math.Round(v / step)
			if math.IsNaN(q) {
				q = 0
			}
			q = max(math.MinInt16, min(math.MaxInt16, q))
			binary.LittleEndian.PutUint16(buf[2*i:], uint16(int16(q)))
		}
		if _, err := enc.Write(buf[:2*len(part)]); err != nil {
			return err
		}
	}
	return enc.Close()
}
