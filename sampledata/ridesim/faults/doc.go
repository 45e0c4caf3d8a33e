// Package faults builds simulated forks with one known fault each, and sound ones, on several bikes and courses: what advice is
// judged by. The right answer to a fault is what put it in: a spring that was made too soft wants more pressure. All numbers are common
// practice, no source.
package faults
