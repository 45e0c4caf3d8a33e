// Package calibrate makes a sensor's calibration out of what it read while the fork was held at known travels, and says how good
// it is. Measure takes one hold, Fit all of them together.
package calibrate
