// Package demo builds the demo recordings that package sampledata embeds. The rider, the trail and the fork are invented.
// Build them anew with
//
//	go generate ./sampledata
package demo
