// Package signal holds the array mathematics behind the figures: zero-phase low-pass and derivative, power spectral
// density, turning points, rainflow counting, quantiles. Arrays in, arrays out; no knowledge of forks.
package signal
