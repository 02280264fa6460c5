"""The whole bottle in Numba: rows in parallel, compiled loops over lines and columns in float32, code kept on disk."""

import numba
import numpy as np

import twin_case

f4 = np.float32


@numba.njit(parallel=True, cache=True, error_model="numpy", fastmath={"contract", "nsz", "arcp"})
def walk(energy, dark, bounds, line, share, heat, numbers, maps, outcome):
    absorptivity, thickness, price, need, threshold, start, bend, limit, tolerated = numbers
    fluence, removed, peak, margin = maps
    rows, columns = fluence.shape
    per_price, sum_needed = f4(1) / price, need * price
    for band in numba.prange((rows + 15) // 16):
        left, absorbed, spent = np.empty(columns, f4), np.empty(columns, f4), np.empty(columns, f4)
        for row in range(band * 16, min(rows, band * 16 + 16)):
            light, rise = fluence[row], peak[row]
            light[:] = f4(0)
            rise[:] = f4(0)
            absorbed[:] = f4(0)
            spent[:] = f4(0)
            left[:] = thickness
            for at in range(bounds[row], bounds[row + 1]):
                n, g, h = line[at], share[at], heat[at]
                if dark[n]:
                    continue
                e = energy[n]
                if g == f4(0):
                    for i in range(columns):
                        w = f4(0) if left[i] > f4(0) else e[i] * h
                        rise[i] = max(rise[i], w)
                    continue
                for i in range(columns):
                    f = e[i] * g
                    a = f * absorptivity
                    light[i] += f
                    joins = (sum_needed + spent[i]) * a > threshold * absorbed[i]
                    absorbed[i] += a if joins else f4(0)
                    spent[i] += threshold if joins else f4(0)
                    standing = left[i] * price
                    excess = max(a - (threshold if standing > f4(0) else f4(0)), f4(0))
                    taken = min(standing, excess)
                    rest = standing - taken
                    left[i] = rest * per_price if rest > f4(1e-6) * sum_needed else f4(0)
                    part = (excess - taken) / max(a, f4(1e-30)) if standing > f4(0) else f4(1)
                    rise[i] = max(rise[i], part * e[i] * h)
            for i in range(columns):
                state = np.uint8(1) if left[i] > tolerated else np.uint8(2)
                state = np.uint8(0) if left[i] >= thickness else state
                outcome[row, i] = np.uint8(3) if rise[i] >= limit else state
                margin[row, i] = (spent[i] + sum_needed) / absorbed[i]
                removed[row, i] = thickness - left[i]
                rise[i] = start + f4(2) * rise[i] / (f4(1) + np.sqrt(max(f4(1) + bend * rise[i], f4(0))))


def predict(case):
    shape = (case.rows, case.columns)
    energy = twin_case.line_energy(case)
    row, line, share, heat = twin_case.meetings(case)
    bounds = np.searchsorted(row, np.arange(case.rows + 1))
    fluence, removed, peak, margin = (np.empty(shape, f4) for _ in range(4))
    outcome = np.empty(shape, np.uint8)
    numbers = tuple(f4(x) for x in (case.absorptivity, case.thickness, case.removal_energy, case.need, case.threshold,
                                    case.start, case.bend, case.limit_rise, case.coat_left * case.thickness))
    walk(energy, ~energy.any(axis=1), bounds, line, share, heat, numbers, (fluence, removed, peak, margin), outcome)
    return {"fluence": fluence, "changed": removed, "peak_temperature": peak, "margin": margin, "outcome": outcome,
            "wanted": twin_case.wanted(case)}


if __name__ == "__main__":
    twin_case.main(predict)
