"""What is compared of the fits to trial pieces: each function computes one quantity with the library, in the unit that its table names."""

from circumfluence import calibration


def squared_width_radius(energies, widths, exposed):
    return 1e6 * calibration.squared_width(energies, [1e-6 * width for width in widths], exposed=exposed).radius.value


def squared_width_threshold(energies, widths, exposed):
    return 1e-4 * calibration.squared_width(energies, [1e-6 * width for width in widths], exposed=exposed).threshold.value


def _fitted(heights, radii, wavelength):
    return calibration.caustic_fit([1e-3 * height for height in heights], [1e-6 * radius for radius in radii], wavelength=wavelength)


def fitted_waist(heights, radii, wavelength):
    return 1e6 * _fitted(heights, radii, wavelength).waist.value


def fitted_m2(heights, radii, wavelength):
    return _fitted(heights, radii, wavelength).m2.value


def fitted_rayleigh(heights, radii, wavelength):
    return 1e3 * _fitted(heights, radii, wavelength).rayleigh.value
