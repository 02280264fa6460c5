// Conductivity that depends on temperature, k(T) = k0 + k1 (T - T0): the Kirchhoff transform.
//
// The linear problem solved with k0 gives theta; the true temperature obeys k0 theta = int_T0^T k dT, hence
//   T - T0 = theta                                            (k1 = 0)
//   T - T0 = (sqrt(k0^2 + 2 k0 k1 theta) - k0) / k1           (else)
// Exact in steady state; for a moving spot the diffusivity is taken at T0 (Lax 1978). For k1 < 0 the root
// ends where k reaches zero: theta is then beyond what the record can say.
#pragma once

namespace circumfluence::heat {

struct Conductivity {
  double at_start;  // [W/(m K)] k0, at the starting temperature
  double slope;     // [W/(m K^2)] k1
};

double true_rise(const Conductivity& k, double linear_rise);  // [K]; +infinity beyond the root
double linear_rise(const Conductivity& k, double true_rise);  // [K], the inverse

}  // namespace circumfluence::heat
