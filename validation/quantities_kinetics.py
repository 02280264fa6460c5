"""What is compared, reactions under heat. Each function computes one quantity in its table's unit."""

import math

import circumfluence as cf
import numpy as np

GAS = 8.314462618  # [J/(mol K)]
LAWS = {"PMMA": (8.5e12, 188e3), "PET": (4.5e18, 281e3), "board, step 1": (7.95e9, 130e3), "board, step 2": (2.0e11, 160e3),
        "PVC, step 1": (1.4e33, 367e3)}


def _law(material):
    if material == "cellulose":  # from its peak at 613 K and 10 K/min
        ratio = 228e3 / (GAS * 613.0)
        return 10 / 60 * ratio / 613.0 * math.exp(ratio), 228e3
    return LAWS[material]


def reaction(material, per=1.0):
    rate, energy = _law(material)
    return cf.Reaction(rate=rate / per, activation=energy / GAS)


def hold_temperature(material, dwell, share):
    """Temperature at which a hold converts that share."""
    return cf.temperature_of(reaction(material, -math.log(1 - share)), dwell=dwell)


def peak_temperature(material, heating):
    """Temperature of the fastest loss on a steady ramp (Kissinger): k(T) = heating E / (R T^2)."""
    law, temperature = reaction(material), 600.0
    for _ in range(60):
        temperature = cf.temperature_of(law, dwell=temperature**2 / (heating * law.activation))
    return temperature


def ramp_temperature(material, heating, share=0.5, start=300.0):
    """Temperature at which a steady ramp has converted that share: the dose of a ramp to each rise."""
    law = reaction(material)
    low, high = 300.0, 2000.0
    for _ in range(50):
        rise = (low + high) / 2 - start
        times = np.linspace(0, rise / heating, 200)
        dose = cf.Dose(reaction=law, times=times, shares=times / times[-1], start=start, greatest=2500).of(rise) if rise > 1 else 0.0
        low, high = (low, rise + start) if cf.bleached(dose) > share else (rise + start, high)
    return (low + high) / 2


def _pulse(law, rise, duration, start=293.0):
    times = np.linspace(-3.5 * duration, 3.5 * duration, 141)
    return cf.Dose(reaction=law, times=times, shares=np.exp(-((times / duration) ** 2)), start=start, greatest=2000).of(rise)


def pulse_conversion(material, rise, duration):
    return float(cf.bleached(_pulse(reaction(material), rise, duration)))


def pulse_oxide(peak, duration):
    """Oxide [nm] after a Gaussian pulse; the synthetic law k0 = 1e-6 m^2/s, 200 kJ/mol."""
    return 1e9 * float(cf.oxide(native=0.0, dose=_pulse(cf.Reaction(rate=1e-6, activation=200e3 / GAS), peak - 293.0, duration)))
