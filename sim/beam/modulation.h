// How evenly a pulsed laser writes: its pulses lie v/f apart and blur into a line only if the spot is wide
// enough.
#pragma once

namespace circumfluence::beam {

// Peak-to-mean ripple of the line energy [1] of on/off pulses of share `duty` at pitch v/f [m], under a
// Gaussian spot of 1/e^2 radius [m] along the line: the first harmonic of the pulse train, blurred,
//   2 |sin(pi duty)| / (pi duty) exp(-pi^2 radius^2 / (2 pitch^2)).
// Higher harmonics fall off as exp(-4 ...) and are left out. Closed form (Fourier series of the train).
double pulse_ripple(double pitch, double radius, double duty);

}  // namespace circumfluence::beam
