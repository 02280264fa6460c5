"""What is compared: each function computes one quantity with the library, in the unit that its table names."""

import math

import circumfluence as cf


def _solid(material):
    return dict(conductivity=material["k"], diffusivity=material["k"] / (material["rho"] * material["c"]))


def rise(material, **where):
    return float(cf.rise(**_solid(material), **where))


def peak(material, **spot):
    return cf.peak(**_solid(material), **spot)[0]


def kirchhoff(at_start, slope, start, linear):
    return start + float(cf.true_rise(at_start=at_start, slope=slope, linear=linear))


def absorptivity(n, k, angle, field):
    s, p = cf.fresnel(n=n, k=k, incidence=math.cos(math.radians(angle)))
    return float(p if field == "p" else s)


def caustic(radius, m2, wavelength, height):
    laser = cf.caustic(wavelength=wavelength, spot_axial=2 * radius, spot_around=2 * radius, m2_axial=m2, m2_around=m2)
    return 1e6 * float(laser.axial.radius_at(height))


def sagitta(diameter, lateral):
    return 1e3 * float(cf.sagitta(diameter / 2, lateral))


def threshold(material, rise, dwell):
    """Constant flux over a dwell: the library's threshold for a material with these properties."""
    text = f"""
[material.sample]
title = "sample"
kind = "coat"
density = {{ value = "{material['rho']} kg/m^3", source = "the table" }}
heat_capacity = {{ value = "{material['c']} J/(kg K)", source = "the table" }}
conductivity = {{ value = "{material['k']} W/(m K)", source = "the table" }}
removal_temperature = {{ value = "{293.15 + rise} K", source = "the table" }}
"""
    return cf.threshold(cf.parse_materials(text)[0], start=293.15, dwell=dwell)


def melting_power(material, wavelength, radius, speed):
    """Incident power at which a bare surface reaches its solidus, with the record's k(T)."""
    record = cf.material(material)
    k, slope = record.conductivity.value, record.conductivity_slope.value
    slope = 0.0 if math.isnan(slope) else slope
    body = dict(conductivity=k, diffusivity=k / (record.density.value * record.heat_capacity.value))
    per_watt = cf.peak(along=radius, across=radius, speed=speed, **body)[0]
    needed = float(cf.linear_rise(at_start=k, slope=slope, rise=record.solidus.value - 293.15))
    return needed / per_watt / record.optics_at(wavelength).absorptivity.value


def removal_volume(material):
    return 1e9 / cf.material(material).removal_energy.value


def enthalpy_volume(density, heat_capacity, rise, latent):
    return 1e9 / (density * (heat_capacity * rise + latent))


def marked_width(power, speed, radius, threshold):
    """Width of a line where the fluence exceeds a threshold, from the library's cross-section."""
    profile = cf.SpotProfile(2)
    low, high = 0.0, profile.reach
    for _ in range(60):
        middle = (low + high) / 2
        fluence = power / speed / radius * float(profile.density(middle))
        low, high = (middle, high) if fluence > threshold else (low, middle)
    return 1e6 * 2 * radius * low


def cell_mean_dose(power, speed, spacing, diameter, lateral):
    """Dose on a still cylinder under parallel lines: what the surface gets, J/cm^2."""
    part = cf.workpiece(shape="straight", length=0.1, diameter=diameter, wall=1e-3)
    azimuth = math.asin(2 * lateral / diameter)
    return 1e-4 * power / speed / spacing * float(part.at(0.05, azimuth)["incidence"])


def normal_absorptivity(n, k):
    s, p = cf.fresnel(n=n, k=k, incidence=1.0)
    return float(s + p) / 2


def colour_difference(one, other):
    return cf.ciede2000(one, other)


def lab(rgb, coordinate):
    return cf.lab_from_srgb(rgb)["L a b".split().index(coordinate)]


def film_share(n, body, thickness, wavelength):
    return cf.film_reflectance(film=n, body=complex(*body), thickness=thickness, wavelength=wavelength)


def film_lab(record, n, thickness, coordinate):
    return cf.film_lab(record, thickness=thickness, film=n)["L a b".split().index(coordinate)]


def ripple(spacing, radius):
    """Greatest less least over the mean of the dose of parallel lines, from the library's cross-section."""
    profile = cf.SpotProfile(2)
    def dose(y):
        return sum(float(profile.density((y - i * spacing) / radius)) for i in range(-20, 21))
    mean = radius / spacing
    return (dose(0.0) - dose(spacing / 2)) / mean


def kerf_area(power, speed, radius, absorptivity, threshold, energy, steps=20000):
    """Cross-section of a groove that energy-limited removal leaves, from the library's cross-section of the beam [um^2]."""
    profile, width = cf.SpotProfile(2), 3 * radius
    step = 2 * width / steps
    sides = [-width + (i + 0.5) * step for i in range(steps)]
    line = absorptivity * power / speed / radius * profile.density([y / radius for y in sides])
    return 1e12 * step * float(sum(max(0.0, f - threshold) for f in line)) / energy
