// Package advice says what to change next on a fork, from the figures of one run and a table of rules.
//
// A rule is a symptom, told by figures, and one change. It fires where every condition of its symptom holds beyond the doubt that the
// figure carries: the figure's own interval where there is one, the exact interval of a count of events, a margin elsewhere, and a least
// number of observations. A figure that is absent holds nothing. The first rule of the table that fires, that the fork's limits
// leave room for and that was not tried in vain before, is the advice; what else fires waits behind it. Where none fires there is nothing to
// change, or not enough to tell, with what is missing.
package advice
