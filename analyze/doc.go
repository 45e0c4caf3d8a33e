// Package analyze computes every figure of a run from calibrated travel.
//
// It is pure computation: a Trace and Options in, plain structs out. No file, clock, flag or log, and no randomness
// but a seeded bootstrap. Conventions: travel x in mm, 0 = fully extended, positive into the travel; velocity v in
// mm/s, positive = compression, negative = rebound; time in s from the first sample; T = usable travel of the fork.
package analyze
