package signal

import (
	"math"
	"math/bits"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A dft computes the transform of n real samples in n·log n time for every n. The library does so only where n has small
// prime factors: by a large one it takes time in proportion to its square, and loses digits. Those n go by Bluestein's way:
// kl = (k² + l² − (k−l)²)/2 turns the transform into a convolution with a chirp, for which any length serves. Source: L. I.
// Bluestein, IEEE Trans. Audio Electroacoustics 18 (1970), cited from memory.
type dft struct {
	n     int
	plain *fourier.FFT // for an n with small factors; the rest is then not set

	padded *fourier.CmplxFFT
	chirp  []complex128 // exp(−jπk²/n), k < n
	kernel []complex128 // transform of the conjugate chirp from −n to n, wrapped, over its length
	work   []complex128
}

// largestPlainFactor is about where Bluestein's way, which takes two longer transforms, becomes the faster one.
const largestPlainFactor = 256

func newDFT(n int) *dft {
	d := &dft{n: n}
	if largestFactor(n) <= largestPlainFactor {
		d.plain = fourier.NewFFT(n)
		return d
	}
	size := 1 << bits.Len(uint(2*n-2))
	d.padded = fourier.NewCmplxFFT(size)
	d.chirp, d.work = make([]complex128, n), make([]complex128, size)
	wrapped := make([]complex128, size)
	for k := range d.chirp {
		// k² is reduced by the period 2n first, for its digits.
		d.chirp[k] = cmplx.Rect(1, -math.Pi*float64(k*k%(2*n))/float64(n))
		c := cmplx.Conj(d.chirp[k]) / complex(float64(size), 0)
		wrapped[k] = c
		if k > 0 {
			wrapped[size-k] = c
		}
	}
	d.kernel = d.padded.Coefficients(nil, wrapped)
	return d
}

// largestFactor is the largest prime factor of n, 1 of 1.
func largestFactor(n int) int {
	largest := 1
	for p := 2; n > 1; p++ {
		if p*p > n {
			p = n
		}
		for n%p == 0 {
			n, largest = n/p, p
		}
	}
	return largest
}

// coefficients writes the n/2+1 coefficients Σ x[l]·exp(−j2πkl/n) to dst.
func (d *dft) coefficients(dst []complex128, x []float64) {
	if d.plain != nil {
		d.plain.Coefficients(dst, x)
		return
	}
	for l, v := range x {
		c := d.chirp[l]
		d.work[l] = complex(v*real(c), v*imag(c))
	}
	clear(d.work[d.n:])
	d.padded.Coefficients(d.work, d.work)
	for k, c := range d.kernel {
		d.work[k] *= c
	}
	d.padded.Sequence(d.work, d.work)
	for k := range dst {
		dst[k] = d.work[k] * d.chirp[k]
	}
}
