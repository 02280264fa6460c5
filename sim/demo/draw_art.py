#!/usr/bin/env python3
"""Draws the art of the demo job: a finishers' bottle of the (invented) club Fernhollow Orienteers.

Usage: draw_art.py OUT.png

1600 x 1000 pixels of 8-bit grey, black where the laser shall mark, the same bytes on every run. Standard
library only. The map, the course and the letters are made here from formulas; nothing is taken from elsewhere.
"""

import math
import struct
import sys
import zlib

WIDTH, HEIGHT = 1600, 1000
MAP_X, MAP_Y, MAP_RADIUS = 445, 500, 400


class Sheet:
    """Grey pixels, drawn on with a round pen; edges are smoothed over one pixel."""

    def __init__(self):
        self.rows = [bytearray(b"\xff" * WIDTH) for _ in range(HEIGHT)]

    def dab(self, a, b, pen, black=True):
        """One straight stroke from a to b, `pen` pixels wide with round ends."""
        (ax, ay), (bx, by) = a, b
        dx, dy = bx - ax, by - ay
        square = dx * dx + dy * dy
        reach = pen / 2 + 0.5
        left, right = max(0, int(min(ax, bx) - reach)), min(WIDTH - 1, int(max(ax, bx) + reach) + 1)
        top, bottom = max(0, int(min(ay, by) - reach)), min(HEIGHT - 1, int(max(ay, by) + reach) + 1)
        for y in range(top, bottom + 1):
            row, py = self.rows[y], y - ay
            for x in range(left, right + 1):
                px = x - ax
                t = (px * dx + py * dy) / square if square else 0.0
                t = 0.0 if t < 0.0 else 1.0 if t > 1.0 else t
                cover = reach - math.hypot(px - t * dx, py - t * dy)
                if cover <= 0.0:
                    continue
                cover = 255 if cover >= 1.0 else int(255 * cover + 0.5)
                if black:
                    row[x] = min(row[x], 255 - cover)
                else:
                    row[x] = max(row[x], cover)

    def line(self, points, pen, black=True):
        for (ax, ay), (bx, by) in zip(points, points[1:]):
            pieces = max(1, int(math.hypot(bx - ax, by - ay) / (16 + pen)))
            ends = [(ax + (bx - ax) * i / pieces, ay + (by - ay) * i / pieces) for i in range(pieces + 1)]
            for a, b in zip(ends, ends[1:]):
                self.dab(a, b, pen, black)

    def ring(self, x, y, radius, pen, black=True):
        self.line(arc(x, y, radius, radius, 0, 360), pen, black)

    def polygon(self, corners):
        """Filled, convex."""
        ys = [y for _, y in corners]
        for y in range(math.floor(min(ys)), math.ceil(max(ys)) + 1):
            crossings = []
            for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1]):
                if (ay <= y) != (by <= y):
                    crossings.append(ax + (y - ay) * (bx - ax) / (by - ay))
            if len(crossings) == 2:
                for x in range(math.ceil(min(crossings)), math.floor(max(crossings)) + 1):
                    self.rows[y][x] = 0
        self.line(corners + corners[:1], 1.5)

    def save(self, path):
        def chunk(kind, data):
            return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

        pixels = b"".join(b"\0" + bytes(row) for row in self.rows)
        with open(path, "wb") as file:
            file.write(b"\x89PNG\r\n\x1a\n")
            file.write(chunk(b"IHDR", struct.pack(">IIBBBBB", WIDTH, HEIGHT, 8, 0, 0, 0, 0)))
            file.write(chunk(b"IDAT", zlib.compress(pixels, 9)))
            file.write(chunk(b"IEND", b""))


def arc(x, y, rx, ry, start, stop):
    """Points of an ellipse, angles in degrees, clockwise on the sheet from the right."""
    count = max(8, int(abs(stop - start) / 360 * max(72, 12 * math.sqrt(max(rx, ry)))))
    angles = [math.radians(start + (stop - start) * i / count) for i in range(count + 1)]
    return [(x + rx * math.cos(a), y + ry * math.sin(a)) for a in angles]


# Letters as strokes in a box one high; width first.
LETTERS = {
    "E": (0.52, [[(0.52, 0), (0, 0), (0, 1), (0.52, 1)], [(0, 0.48), (0.44, 0.48)]]),
    "F": (0.50, [[(0.50, 0), (0, 0), (0, 1)], [(0, 0.48), (0.42, 0.48)]]),
    "H": (0.64, [[(0, 0), (0, 1)], [(0.64, 0), (0.64, 1)], [(0, 0.48), (0.64, 0.48)]]),
    "I": (0.00, [[(0, 0), (0, 1)]]),
    "L": (0.48, [[(0, 0), (0, 1), (0.48, 1)]]),
    "N": (0.66, [[(0, 1), (0, 0), (0.66, 1), (0.66, 0)]]),
    "O": (0.84, [arc(0.42, 0.5, 0.42, 0.5, 0, 360)]),
    "R": (0.56, [[(0, 1), (0, 0), (0.28, 0)] + arc(0.28, 0.26, 0.26, 0.26, -90, 90) + [(0, 0.52)],
                 [(0.26, 0.52), (0.56, 1)]]),
    "S": (0.54, [arc(0.27, 0.25, 0.25, 0.25, -25, -270) + arc(0.27, 0.75, 0.27, 0.25, -90, 155)]),
    "T": (0.62, [[(0, 0), (0.62, 0)], [(0.31, 0), (0.31, 1)]]),
    "W": (0.96, [[(0, 0), (0.24, 1), (0.48, 0.14), (0.72, 1), (0.96, 0)]]),
    "0": (0.60, [arc(0.30, 0.5, 0.30, 0.5, 0, 360)]),
    "1": (0.24, [[(0, 0.2), (0.24, 0), (0.24, 1)]]),
    "2": (0.56, [arc(0.27, 0.28, 0.27, 0.28, -165, 35) + [(0, 1), (0.56, 1)]]),
    "3": (0.52, [arc(0.24, 0.25, 0.25, 0.25, -150, 90) + arc(0.24, 0.75, 0.28, 0.25, -90, 150)]),
    "4": (0.60, [[(0.44, 1), (0.44, 0), (0, 0.70), (0.60, 0.70)]]),
    "5": (0.54, [[(0.50, 0), (0.08, 0), (0.04, 0.44)] + arc(0.24, 0.68, 0.30, 0.32, -130, 145)]),
    "6": (0.58, [arc(0.29, 0.68, 0.29, 0.32, 0, 360), [(0.02, 0.62), (0.10, 0.36), (0.40, 0)]]),
    "7": (0.54, [[(0, 0), (0.54, 0), (0.18, 1)]]),
    " ": (0.34, []),
}


def text_width(text, size, gap):
    return sum(LETTERS[c][0] * size for c in text) + gap * (len(text) - 1)


def write(sheet, text, middle, top, size, pen, gap, black=True):
    x = middle - text_width(text, size, gap) / 2
    for c in text:
        width, strokes = LETTERS[c]
        for stroke in strokes:
            sheet.line([(x + u * size, top + v * size) for u, v in stroke], pen, black)
        x += width * size + gap


# Hills of the map: where, how high, how wide, how long, and which way they run (degrees).
HILLS = [
    (300, 330, 9.0, 105, 150, 25), (560, 300, 6.5, 80, 120, -50), (640, 590, 9.5, 100, 165, 60),
    (330, 640, 7.0, 90, 130, -20), (470, 480, -4.5, 70, 120, 40), (170, 520, 4.0, 60, 90, 80),
    (480, 790, 5.5, 90, 120, 0), (760, 380, 4.0, 70, 90, 10),
]


def height(x, y):
    h = 0.6 * math.sin(x / 61 + 0.7 * math.sin(y / 83)) + 0.5 * math.cos(y / 53 - 0.8 * math.cos(x / 71))
    for hx, hy, peak, wide, long, turn in HILLS:
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        u, v = (x - hx) * c + (y - hy) * s, (y - hy) * c - (x - hx) * s
        h += peak * math.exp(-((u / long) ** 2) - (v / wide) ** 2)
    return h


def contours(sheet):
    """Marching squares: in each square, straight pieces of every level that crosses its edges."""
    step = 6
    x0, y0, count = MAP_X - MAP_RADIUS, MAP_Y - MAP_RADIUS, 2 * MAP_RADIUS // step + 1
    field = [[height(x0 + i * step, y0 + j * step) for i in range(count + 1)] for j in range(count + 1)]
    for j in range(count):
        for i in range(count):
            x, y = x0 + i * step, y0 + j * step
            if math.hypot(x + step / 2 - MAP_X, y + step / 2 - MAP_Y) > MAP_RADIUS - 2:
                continue
            corners = [(x, y, field[j][i]), (x + step, y, field[j][i + 1]),
                       (x + step, y + step, field[j + 1][i + 1]), (x, y + step, field[j + 1][i])]
            values = [h for _, _, h in corners]
            for level in range(math.ceil(min(values)), math.floor(max(values)) + 1):
                cuts = []
                for (ax, ay, ah), (bx, by, bh) in zip(corners, corners[1:] + corners[:1]):
                    if (ah < level) != (bh < level):
                        t = (level - ah) / (bh - ah)
                        cuts.append((ax + t * (bx - ax), ay + t * (by - ay)))
                for a, b in zip(cuts[::2], cuts[1::2]):
                    sheet.dab(a, b, 5.0 if level % 5 == 0 else 2.6)


START = (215, 745)
CONTROLS = [(255, 480), (415, 270), (605, 225), (720, 420), (545, 540), (690, 690), (480, 690)]
FINISH = (395, 830)
CONTROL_RADIUS = 29


def course(sheet):
    stops = [START] + CONTROLS + [FINISH]
    radii = [40] + [CONTROL_RADIUS] * len(CONTROLS) + [CONTROL_RADIUS + 5]
    legs = []
    for (ax, ay), (bx, by), ra, rb in zip(stops, stops[1:], radii, radii[1:]):
        length = math.hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / length, (by - ay) / length
        legs.append([(ax + ux * (ra + 5), ay + uy * (ra + 5)), (bx - ux * (rb + 5), by - uy * (rb + 5))])
    turn = math.atan2(CONTROLS[0][1] - START[1], CONTROLS[0][0] - START[0])
    triangle = [(START[0] + 38 * math.cos(turn + a), START[1] + 38 * math.sin(turn + a))
                for a in (0, 2 * math.pi / 3, 4 * math.pi / 3)]
    for x, y in CONTROLS + [FINISH]:
        sheet.dab((x, y), (x, y), 2 * CONTROL_RADIUS, False)
    for pen, black in ((22, False), (8, True)):  # first clear a way through the contours
        for leg in legs:
            sheet.line(leg, pen, black)
        sheet.line(triangle + triangle[:1], pen, black)
        for x, y in CONTROLS:
            sheet.ring(x, y, CONTROL_RADIUS, pen, black)
        for radius in (CONTROL_RADIUS + 6, CONTROL_RADIUS - 10):
            sheet.ring(*FINISH, radius, pen, black)
    sides = [(-56, -14), (-50, -46), (56, -30), (60, -24), (-62, 0), (60, 16), (-58, -8)]
    for number, ((x, y), (dx, dy)) in enumerate(zip(CONTROLS, sides), 1):
        for pen, black in ((24, False), (7, True)):
            write(sheet, str(number), x + dx, y + dy - 20, 40, pen, 0, black)
        sheet.dab((x, y), (x, y), 7)


def compass(sheet, x, y, radius):
    sheet.ring(x, y, radius, 6)
    for degrees in range(0, 360, 10):
        a = math.radians(degrees)
        inner = radius - (30 if degrees % 90 == 0 else 20 if degrees % 30 == 0 else 12)
        points = [(x + r * math.cos(a), y + r * math.sin(a)) for r in (inner, radius - 6)]
        sheet.line(points, 7 if degrees % 90 == 0 else 4)
    turn = math.radians(32)
    along, across = (math.sin(turn), -math.cos(turn)), (math.cos(turn), math.sin(turn))

    def at(forward, sideways):
        return (x + forward * along[0] + sideways * across[0], y + forward * along[1] + sideways * across[1])

    tip, half = radius - 38, 27
    sheet.polygon([at(tip, 0), at(0, half), at(0, -half)])
    sheet.line([at(0, half), at(-tip, 0), at(0, -half)], 5)
    sheet.line([at(-tip, 0), at(0, 0)], 3)
    sheet.dab((x, y), (x, y), 22, False)
    sheet.dab((x, y), (x, y), 9)


def main():
    if len(sys.argv) != 2:
        sys.exit("usage: draw_art.py OUT.png")
    sheet = Sheet()
    contours(sheet)
    course(sheet)
    sheet.ring(MAP_X, MAP_Y, MAP_RADIUS, 9)
    sheet.ring(MAP_X, MAP_Y, MAP_RADIUS + 18, 3)
    middle = 1240
    compass(sheet, middle, 236, 150)
    write(sheet, "FINISHER", middle, 460, 108, 20, 38)
    write(sheet, "2026", middle, 626, 108, 20, 42)
    for side in (-1, 1):
        sheet.line([(middle + side * 222, 680), (middle + side * 318, 680)], 6)
    write(sheet, "FERNHOLLOW", middle, 792, 46, 8, 20)
    write(sheet, "ORIENTEERS", middle, 866, 46, 8, 20)
    sheet.save(sys.argv[1])


if __name__ == "__main__":
    main()
