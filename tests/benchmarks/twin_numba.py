"""The whole bottle in Numba: rows in parallel, compiled loops over lines and columns in float32, code kept on disk."""

import numba
import numpy as np

import twin_case

f4 = np.float32


@numba.njit(parallel=True, cache=True, error_model="numpy", fastmath={"contract", "nsz", "arcp", "reassoc"})
def heard(dots, pad, columns, two_way, near, aheads, taps, fars):
    """twin_case.heating, compiled: lines in parallel, running boxes, all moments of a line in one buffer."""
    lines, wide = dots.shape
    moments, octaves = fars.shape
    reach = 0
    for m in range(moments):
        reach = max(reach, aheads[m] + 1, (near << octaves) - aheads[m])
    out = np.empty((lines, columns), f4)
    for line in numba.prange(lines):
        back = two_way and line % 2 == 1
        size = columns + 2 * reach
        sent, boxes, best, sum_ = np.empty(size, f4), np.zeros((octaves, size), f4), np.zeros(columns, f4), np.empty(columns, f4)
        for i in range(size):
            at = pad - reach + i
            at = wide - 1 - at if back else at
            sent[i] = dots[line, min(max(at, 0), wide - 1)]
        for n in range(near):
            for i in range(n, size):
                boxes[0, i] += sent[i - n]
        for k in range(1, octaves):
            width = near << (k - 1)
            for i in range(size):
                boxes[k, i] = boxes[k - 1, i]
            for i in range(width, size):
                boxes[k, i] += boxes[k - 1, i - width]
        for m in range(moments):
            at = reach + aheads[m]
            for i in range(columns):
                sum_[i] = taps[m, 0] * sent[at + i]
            for n in range(1, near):
                for i in range(columns):
                    sum_[i] += taps[m, n] * sent[at - n + i]
            for k in range(octaves):
                width = near << k
                weight = fars[m, k] / f4(width)
                for i in range(columns):
                    sum_[i] += weight * boxes[k, at - width + i]
            for i in range(columns):
                best[i] = max(best[i], sum_[i])
        for i in range(columns):
            out[line, columns - 1 - i if back else i] = best[i]
    return out


@numba.njit(parallel=True, cache=True, error_model="numpy", fastmath={"contract", "nsz", "arcp"})
def walk(energy, heating, dark, bounds, line, share, heat, numbers, maps, outcome):
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
                e, hot = energy[n], heating[n]
                if g == f4(0):
                    for i in range(columns):
                        w = f4(0) if left[i] > f4(0) else hot[i] * h
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
                    rise[i] = max(rise[i], part * hot[i] * h)
            for i in range(columns):
                state = np.uint8(1) if left[i] > tolerated else np.uint8(2)
                state = np.uint8(0) if left[i] >= thickness else state
                outcome[row, i] = np.uint8(3) if rise[i] >= limit else state
                margin[row, i] = (spent[i] + sum_needed) / absorbed[i]
                removed[row, i] = thickness - left[i]
                rise[i] = start + f4(2) * rise[i] / (f4(1) + np.sqrt(max(f4(1) + bend * rise[i], f4(0))))


def predict(case):
    shape = (case.rows, case.columns)
    energy, dots, pad = twin_case.line_energy(case)
    if twin_case.warm_wall(case, dots, pad).max() > 3:
        raise ValueError("the wall's own warmth counts here, and this twin leaves it out")
    heating = heard(dots, pad, case.columns, case.two_way, case.echo_near, np.array([m[0] for m in case.echo]),
                    np.array([m[1] for m in case.echo], f4), np.array([m[2] for m in case.echo], f4))
    row, line, share, heat = twin_case.meetings(case)
    bounds = np.searchsorted(row, np.arange(case.rows + 1))
    fluence, removed, peak, margin = (np.empty(shape, f4) for _ in range(4))
    outcome = np.empty(shape, np.uint8)
    numbers = tuple(f4(x) for x in (case.absorptivity, case.thickness, case.removal_energy, case.need, case.threshold,
                                    case.start, case.bend, case.limit_rise, case.coat_left * case.thickness))
    walk(energy, heating, ~energy.any(axis=1), bounds, line, share, heat, numbers, (fluence, removed, peak, margin), outcome)
    return {"fluence": fluence, "changed": removed, "peak_temperature": peak, "margin": margin, "outcome": outcome,
            "wanted": twin_case.wanted(case)}


if __name__ == "__main__":
    twin_case.main(predict)
