// Package trial judges the table of rules on simulated forks with one known fault each: how often the right change is named first, and how
// often nothing is changed on a sound fork.
package trial
