// Package ingest turns a sensor log into calibrated travel.
//
// A reader (for example package csvlog) yields a Recording: the columns of one log exactly as they were written.
// Prepare repairs its clock, calibrates it, bridges short losses, splits it at long gaps, removes lone spikes and puts
// what is left on a uniform time grid: a Trace. Nothing is invented silently: all that Prepare changed is counted
// in Quality.
//
// Conventions, here and in every later package: travel is in mm along the stanchion, 0 = fully extended, positive
// into the travel; time is in s from the first sample of the recording.
package ingest
