// Package unit holds the quantities Corbel works with: masses, lengths,
// forces, durations and angles.
//
// A quantity that a person typed keeps the text and the unit that were typed;
// the SI value is derived from it. Values are whole numbers of a small unit
// ("grain") in which every accepted unit is whole, so that kilograms and pounds
// compare exactly and plates can be added without rounding.
//
// Inside computations use the float types Kilogram, Newton, NewtonMetre, Metre,
// Radian and Second; they carry no text.
package unit
