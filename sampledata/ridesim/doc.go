// Package ridesim rides a simulated mountain-bike fork over a simulated trail and logs it as a travel sensor would.
// Everything that a log can only hint at (true travel, true velocity, when the wheel was off the ground, what the
// static sag is) comes with it as Truth, so that an analysis can be checked against what really happened.
//
// # Model
//
// The front end is a quarter car: a sprung mass (the share of rider and bike that rests on the fork) above an
// unsprung mass (wheel and lower legs) above a tyre. Both masses move vertically. The fork lies at the head angle α
// from horizontal, so travel x along the stanchion is the vertical distance closed between the masses over sin α, and an
// axial fork force F carries F/sin α vertically (virtual work: F·dx = Fv·dz, dz = sin α·dx; the rest of the wheel
// load is carried by the bushings as side load and does no work). Pitch, the rear wheel and the moving limbs of the rider are not modelled.
//
//	ms·z̈s =  F/sin α − ms·g − L
//	mu·z̈u = −F/sin α − mu·g + Ft
//
// F is the sum of an air (or linear) spring, a digressive two-slope damper, Coulomb friction that truly sticks, a
// bump stop and a top-out stop. Ft is a one-sided tyre: it pushes, never pulls, so that the wheel can leave the ground. L is
// the extra load from braking, from the rider's moving about and from what a scenario pushes.
//
// The road is an ISO 8608 random profile whose roughness changes by section, plus features (bumps, drops, jumps), seen
// through a moving average that stands for the tyre's contact patch and the wheel's size.
//
// # Where it lies
//
// Course.Trail lays a course out on the WGS84 ellipsoid at an invented place; a Passage is a ride along it, and a Receiver turns that into a
// track with a satellite receiver's errors. The same distance along the trail carries the fork, the positions and the gates. The hill is for the track alone: the
// quarter car does not feel it.
//
// # Numbers
//
// The equations are integrated with the classical Runge–Kutta method at a fixed step (8 kHz or more).
// The same Params give the same bytes on the same architecture; another one may round the last bit otherwise (fused
// multiply-add), which rarely survives the sensor's quantisation.
//
// Units inside the package are SI (m, s, N, kg). What leaves it as travel is in mm, and its name says so.
package ridesim
