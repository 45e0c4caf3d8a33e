// Package damper lays a damper's force–velocity curves over the velocities of a ride: which forces the damper made, how much energy it
// turned into heat and where, and which clicks would have made a difference.
//
// The velocities are those that were ridden. With another click the fork would have moved otherwise, so that differences between clicks
// are first estimates: good for telling clicks that matter from those that do not, not for what the next ride will show.
package damper
