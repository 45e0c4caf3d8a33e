// Package report shows the figures of one run to people: a self-contained HTML page, a terminal summary and JSON.
//
// It computes no figure. It chooses a display scale, thins traces for drawing (keeping every peak) and puts figures
// into words, always with the reasons why they may mislead.
package report
