"""The whole bottle in NumPy, vectorised: line by line, each over the rows that it reaches, in float32."""

import numpy as np

import twin_case


def pass_line(case, state, rows, energies, share, heat):
    """One line over the rows it reaches: energy and heating by column, share and heat by row."""
    energy, heating = energies
    fluence, left, rise, absorbed, spent = (a[rows] for a in state)
    need, threshold = np.float32(case.need * case.removal_energy), np.float32(case.threshold)
    light = share > 0  # rows near enough for light, the rest is only warmed
    near = slice(np.argmax(light), len(light) - np.argmax(light[::-1])) if light.any() else slice(0, 0)
    warm = heating * heat
    f = energy * share[near]
    a = f * np.float32(case.absorptivity)
    fluence[near] += f
    joins = (need + spent[near]) * a > threshold * absorbed[near]
    absorbed[near] += np.where(joins, a, 0)
    spent[near] += np.where(joins, threshold, 0)
    standing = left * np.float32(case.removal_energy)
    part = (standing <= 0).astype(np.float32)
    stands = standing[near]
    excess = np.maximum(a - np.where(stands > 0, threshold, np.float32(0)), 0)
    taken = np.minimum(stands, excess)
    rest = stands - taken
    left[near] = np.where(rest > np.float32(1e-6) * need, rest * np.float32(1 / case.removal_energy), 0)
    part[near] = np.where(stands > 0, (excess - taken) / np.maximum(a, np.float32(1e-30)), 1)
    np.maximum(rise, part * warm, out=rise)


def predict(case):
    shape = (case.rows, case.columns)
    energy, dots, pad = twin_case.line_energy(case)
    if twin_case.warm_wall(case, dots, pad).max() > 3:
        raise ValueError("the wall's own warmth counts here, and this twin leaves it out")
    heating = twin_case.heating(case, dots, pad)
    row, line, share, heat = twin_case.meetings(case)
    order = np.lexsort((row, line))
    row, line, share, heat = row[order], line[order], share[order][:, None], heat[order][:, None]
    bounds = np.searchsorted(line, np.arange(case.lines + 1))
    fluence, rise, absorbed, spent = (np.zeros(shape, np.float32) for _ in range(4))
    left = np.full(shape, case.thickness, np.float32)
    for n in range(case.lines):
        at = slice(bounds[n], bounds[n + 1])
        if at.start == at.stop or not energy[n].any():
            continue
        rows = slice(row[at.start], row[at.stop - 1] + 1)
        pass_line(case, (fluence, left, rise, absorbed, spent), rows, (energy[n], heating[n]), share[at], heat[at])

    thickness = np.float32(case.thickness)
    outcome = np.where(left >= thickness, 0, np.where(left > np.float32(case.coat_left * case.thickness), 1, 2)).astype(np.uint8)
    outcome[rise >= np.float32(case.limit_rise)] = 3
    with np.errstate(divide="ignore"):
        margin = (spent + np.float32(case.need * case.removal_energy)) / absorbed
    inside = np.maximum(1 + np.float32(case.bend) * rise, 0)
    peak = np.float32(case.start) + 2 * rise / (1 + np.sqrt(inside))
    return {"fluence": fluence, "changed": thickness - left, "peak_temperature": peak, "margin": margin, "outcome": outcome,
            "wanted": twin_case.wanted(case)}


if __name__ == "__main__":
    twin_case.main(predict)
