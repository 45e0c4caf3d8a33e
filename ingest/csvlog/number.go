package csvlog

import (
	"math"
	"strconv"
)

// pow10 holds the powers of ten that float64 holds exactly.
var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// scanPlain reads a plain decimal number (sign, digits, decimal mark, digits) at the start of b and returns it with the number of
// bytes used; 0 means that b starts with no such number or that it needs the slow way: over 18 digits, over 2^53, an exponent.
// frac tells that a decimal mark was met.
//
// A whole number below 2^53 and a power of ten up to 10^22 are both exact in float64, so that their
// quotient, rounded once, is the nearest float64 (W. D. Clinger, "How to read floating point numbers accurately", 1990; from memory).
func scanPlain(b []byte, decimal byte) (v float64, n int, frac bool) {
	i := 0
	neg := false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	start := i
	var mant uint64
	for i < len(b) {
		d := b[i] - '0'
		if d > 9 {
			break
		}
		mant = mant*10 + uint64(d)
		i++
	}
	digits := i - start
	places := 0
	if i < len(b) && b[i] == decimal {
		frac = true
		i++
		point := i
		for i < len(b) {
			d := b[i] - '0'
			if d > 9 {
				break
			}
			mant = mant*10 + uint64(d)
			i++
		}
		places = i - point
		digits += places
	}
	if digits == 0 || digits > 18 || mant >= 1<<53 {
		return 0, 0, frac
	}
	if i < len(b) && b[i]|0x20 == 'e' {
		return 0, 0, frac
	}
	v = float64(mant)
	if places > 0 {
		v /= pow10[places]
	}
	if neg {
		v = -v
	}
	return v, i, frac
}

// parseNumber reads all of b as a decimal number, with an optional exponent. The value is the one that strconv.ParseFloat
// gives. Words such as NaN or Inf, hexadecimal numbers, underscores and numbers beyond float64 are not numbers.
func parseNumber(b []byte, decimal byte) (v float64, frac, ok bool) {
	v, n, frac := scanPlain(b, decimal)
	if n > 0 && n == len(b) {
		return v, frac, true
	}
	if !isNumberShape(b, decimal) {
		return 0, false, false
	}
	var short [64]byte
	text := append(short[:0], b...)
	if decimal != '.' {
		for i, c := range text {
			if c == decimal {
				text[i] = '.'
			}
		}
	}
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false, false
	}
	return v, true, true
}

// isNumberShape tells whether b is [+-] digits [mark digits] [e [+-] digits], with at least one digit before the exponent.
func isNumberShape(b []byte, decimal byte) bool {
	i := skipSign(b, 0)
	j := skipDigits(b, i)
	digits := j - i
	if j < len(b) && b[j] == decimal {
		k := skipDigits(b, j+1)
		digits += k - j - 1
		j = k
	}
	if digits == 0 {
		return false
	}
	if j < len(b) && b[j]|0x20 == 'e' {
		i = skipSign(b, j+1)
		j = skipDigits(b, i)
		if j == i {
			return false
		}
	}
	return j == len(b)
}

func skipSign(b []byte, i int) int {
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		i++
	}
	return i
}

func skipDigits(b []byte, i int) int {
	for i < len(b) && b[i]-'0' <= 9 {
		i++
	}
	return i
}
