// Package spring computes what a fork's main spring does: an air spring of a positive and a negative chamber, or a coil.
//
// Inside the package all is SI: m, m², m³, N, N/m, J, Pa, K. Pressures are gauge pressures unless a name says Abs. The
// constructors PSI, Bar and Kelvin bring other units in, and Pressure and the answers carry them out, once each.
//
// The gas law is p·Vⁿ = constant with absolute pressures. The exponent n is 1 where the gas has time to take the temperature
// of the fork (sag at rest) and about 1.3 when riding (common practice, no source; 1.4 is the adiabatic limit of air).
package spring
