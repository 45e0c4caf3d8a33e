// Package trail puts runs on the ground: it smooths a satellite receiver's track, finds how far the sensor's clock is from the
// receiver's, builds a reference line from several runs of one trail and places runs on it, so that a distance means the same place in
// every run. On that stand timing (gates, splits, gaps) and what was met where (harsh sections, jumps, braking, packing).
//
// Distances along a Line are stations: m from its start. Times are s from the first sample of the sensor recording of the run.
// Positions are computed in a local plane (Frame), east and north in m.
package trail
