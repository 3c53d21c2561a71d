#!/usr/bin/env python3
"""Sixty-four masks and what other libraries measure on them.

Made with scikit-image 0.26.0, opencv-python 5.0.0, scipy 1.17.1, numpy 2.4.6 (fixed seed).
Run:  python3 tests/scripts/masks.py fixtures/outside
Writes masks.png (a sheet of 8 x 8 fields of 200 pixels, white is the mark) and masks.csv, in pixels:
- feret_px: scikit-image regionprops, feret_diameter_max: greatest distance on the outline between inside and
  outside pixels of the convex hull;
- box_long_px, box_short_px: OpenCV minAreaRect of the outermost pixel centres (a pixel less than the outline);
- inscribed_px: twice the greatest scipy distance_transform_edt, to the nearest outside pixel centre (a pixel more);
- area_px: number of pixels; x_px, y_px: centroid, pixel centres at .5.
"""
import math
import pathlib
import sys

import cv2
import numpy
import scipy
import scipy.ndimage
import skimage
import skimage.measure

assert (skimage.__version__, cv2.__version__, scipy.__version__) == ("0.26.0", "5.0.0", "1.17.1")
SIDE, FIELDS = 200, 8
rng = numpy.random.default_rng(64)
rows, columns = numpy.mgrid[0:SIDE, 0:SIDE] + 0.5


def stroke(points, radii):
    """All pixels whose centre lies within a radius of a densely sampled line."""
    mask = numpy.zeros((SIDE, SIDE), bool)
    for (x, y), r in zip(points, radii):
        mask |= (columns - x) ** 2 + (rows - y) ** 2 <= r * r
    return mask


def turned(points):
    angle = rng.uniform(0, math.pi)
    c, s = math.cos(angle), math.sin(angle)
    p = numpy.asarray(points, float)
    return p @ numpy.array([[c, s], [-s, c]]) + SIDE / 2 + rng.uniform(-3, 3, 2)


def crack(long, wide, wave):
    t = numpy.linspace(-0.5, 0.5, 400)
    bend = wave * numpy.sin(2 * math.pi * (1.5 * t + rng.uniform())) + 0.4 * wave * numpy.sin(9 * t + rng.uniform(0, 6))
    line = turned(numpy.c_[t * long, bend])
    return stroke(line, 0.5 * wide * numpy.sqrt(numpy.clip(1 - (1.92 * t) ** 4, 0.05, 1)))


def ellipse(a, b):
    angle = rng.uniform(0, math.pi)
    x, y = columns - SIDE / 2 - rng.uniform(-3, 3), rows - SIDE / 2 - rng.uniform(-3, 3)
    u, v = x * math.cos(angle) + y * math.sin(angle), y * math.cos(angle) - x * math.sin(angle)
    return (u / a) ** 2 + (v / b) ** 2 <= 1


def arc(radius, wide, span):
    t = numpy.linspace(-span / 2, span / 2, 400)
    x = radius * numpy.cos(t)
    return stroke(turned(numpy.c_[x - (x.min() + x.max()) / 2, radius * numpy.sin(t)]), numpy.full(400, wide / 2))


def blot(size):
    grain = scipy.ndimage.gaussian_filter(rng.normal(size=(SIDE, SIDE)), size / 4)
    away = numpy.hypot(columns - SIDE / 2, rows - SIDE / 2)
    labels, _ = scipy.ndimage.label(grain / grain.std() * 0.35 + 1 > away / size)
    mask = labels == labels[SIDE // 2, SIDE // 2]
    return scipy.ndimage.binary_fill_holes(mask)


def fork(long, wide):
    t = numpy.linspace(0, 1, 300)
    trunk = numpy.c_[(t - 0.5) * long, 0 * t]
    limb = numpy.c_[0.12 * long + 0.3 * long * t, 0.35 * long * t]
    return stroke(turned(numpy.r_[trunk, limb]), numpy.full(600, wide / 2))


masks = []
masks += [ellipse(a, a / ratio) for a, ratio in zip(numpy.linspace(6, 70, 16), [1, 1.2, 1.5, 2, 2.5, 2.9, 3.1, 3.5] * 2)]
masks += [crack(long, wide, wave) for long, wide, wave in zip(numpy.linspace(30, 165, 20), [5, 6, 8, 10, 14] * 4, [0, 3, 6, 9] * 5)]
masks += [arc(r, w, s) for r, w, s in zip(numpy.linspace(20, 55, 10), [6, 8, 10, 12, 7] * 2, numpy.linspace(1, 4, 10))]
masks += [blot(size) for size in numpy.linspace(12, 50, 10)]
masks += [fork(long, wide) for long, wide in zip(numpy.linspace(60, 130, 8), [6, 8, 10, 12] * 2)]
assert len(masks) == FIELDS * FIELDS

out = pathlib.Path(sys.argv[1])
sheet = numpy.zeros((SIDE * FIELDS, SIDE * FIELDS), numpy.uint8)
lines = [f"# tests/scripts/masks.py with scikit-image {skimage.__version__}, opencv-python {cv2.__version__}, scipy {scipy.__version__}",
         "kind,x_px,y_px,feret_px,box_long_px,box_short_px,inscribed_px,area_px"]
kinds = ["ellipse"] * 16 + ["crack"] * 20 + ["arc"] * 10 + ["blot"] * 10 + ["fork"] * 8
for n, (kind, mask) in enumerate(zip(kinds, masks)):
    assert not (mask[:8].any() or mask[-8:].any() or mask[:, :8].any() or mask[:, -8:].any()), (n, kind)
    j, i = divmod(n, FIELDS)
    sheet[j * SIDE:(j + 1) * SIDE, i * SIDE:(i + 1) * SIDE] = 255 * mask
    one = skimage.measure.regionprops(mask.astype(int))
    assert len(one) == 1
    y, x = one[0].centroid
    (_, sides, _) = cv2.minAreaRect(numpy.argwhere(mask)[:, ::-1].astype(numpy.float32))
    inscribed = 2 * scipy.ndimage.distance_transform_edt(mask).max()
    lines.append(f"{kind},{i * SIDE + x + 0.5:.3f},{j * SIDE + y + 0.5:.3f},{one[0].feret_diameter_max:.3f},{max(sides):.3f},{min(sides):.3f},{inscribed:.3f},{int(mask.sum())}")
cv2.imwrite(str(out / "masks.png"), sheet, [cv2.IMWRITE_PNG_COMPRESSION, 9, cv2.IMWRITE_PNG_BILEVEL, 1])
(out / "masks.csv").write_text("\n".join(lines) + "\n")
