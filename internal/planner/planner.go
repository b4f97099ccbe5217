// Package planner turns an athlete's own rates, and what happened last time,
// into work and rest: burst target and split, sets and rest with their
// reasons, the class hour, the term's meetings and the pace groups of a class.
// It is pure computation: no clock, no input or output, no randomness; the
// same input gives the same plan, to the last bit. It imports the standard
// library and, of the project, only capacity and rhythm.
//
// Units: time in seconds, rates in rotations a minute (rpm), the reserve and
// its balance in rotations, hazards per rep.
package planner

// RulesVersion names the rules that this package applies. It is part of every
// plan, so that a plan made by older rules is known as such, and grows with
// each change that could alter a number of any plan.
const RulesVersion = 1
