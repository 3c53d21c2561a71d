#!/usr/bin/env python3
"""Outlines with their greatest Feret diameter and largest inscribed circle, by other people's code.

Made with scikit-image 0.26.0, scipy 1.17.1, numpy 2.4.6.
Run:  python3 tests/scripts/shapes.py > fixtures/outside/shapes.json
Each outline is filled on a 0.0025 mm grid. feret_mm is skimage.measure.regionprops' feret_diameter_max
(outline at the half pixel, times the spacing). inscribed_mm is twice the greatest value of
scipy.ndimage.distance_transform_edt (to the centre of the nearest outside pixel). Both are good to about two
grid steps: against the disc and the square, whose values are known, they are off by at most 0.005 mm.
"""
import json
import math

import numpy
import scipy
import scipy.ndimage
import skimage
import skimage.draw
import skimage.measure

assert skimage.__version__ == "0.26.0" and scipy.__version__ == "1.17.1", (skimage.__version__, scipy.__version__)
STEP = 0.0025


def stroke(line, radius, n=24):
    """Outline of a polyline drawn with a round pen, as left side, cap, right side, cap."""
    line = numpy.asarray(line, float)
    left, right = [], []
    for i in range(len(line)):
        a, b = line[max(i - 1, 0)], line[min(i + 1, len(line) - 1)]
        d = (b - a) / numpy.linalg.norm(b - a)
        normal = numpy.array([-d[1], d[0]]) * radius
        left.append(line[i] + normal)
        right.append(line[i] - normal)

    def cap(centre, start):
        return [centre + radius * numpy.array([math.cos(start - math.pi * k / n), math.sin(start - math.pi * k / n)]) for k in range(1, n)]

    d0, d1 = line[0] - line[1], line[-1] - line[-2]
    end = cap(line[-1], math.atan2(d1[1], d1[0]) + math.pi / 2)
    begin = cap(line[0], math.atan2(d0[1], d0[0]) + math.pi / 2)
    return numpy.array(left + end + right[::-1] + begin)


def turned(points, degrees):
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return numpy.asarray(points, float) @ numpy.array([[c, s], [-s, c]])


def ellipse(a, b, n=240):
    t = numpy.arange(n) * 2 * math.pi / n
    return numpy.stack([a * numpy.cos(t), b * numpy.sin(t)], 1)


def star(rays, outer, inner):
    return [(r * math.cos(t), r * math.sin(t)) for k in range(2 * rays) for r, t in [((outer, inner)[k % 2], math.pi * k / rays)]]


arc = [(6 * math.cos(t), 6 * math.sin(t)) for t in numpy.linspace(0, math.pi, 60)]
sine = [(x, 0.8 * math.sin(1.7 * x)) for x in numpy.linspace(0, 9, 120)]
SHAPES = {
    "disc 2.0": ellipse(1, 1),
    "ellipse 3.0 x 1.0 at 25": turned(ellipse(1.5, 0.5), 25),
    "stadium 6.0 x 0.8 at 37": turned(stroke([(0, 0), (5.2, 0)], 0.4), 37),
    "hair line 8.0 x 0.25 at 81": turned(stroke([(0, 0), (7.75, 0)], 0.125), 81),
    "half circle, radius 6, 0.5 wide": stroke(arc, 0.25),
    "wave, 0.4 wide, at -20": turned(stroke(sine, 0.2), -20),
    "square 2.0 at 12": turned([(-1, -1), (1, -1), (1, 1), (-1, 1)], 12),
    "star of five rays": star(5, 3.0, 0.7),
    "blunt wedge 7 x 1.2": turned([(0, -0.6), (7, -0.1), (7, 0.1), (0, 0.6)], 63),
    "L of 4 x 3, 0.6 wide": turned([(0, 0), (4, 0), (4, 0.6), (0.6, 0.6), (0.6, 3), (0, 3)], 5),
}


def measured(outline):
    outline = numpy.asarray(outline, float)
    low = outline.min(0) - 0.1
    size = numpy.ceil((outline.max(0) + 0.1 - low) / STEP).astype(int)
    # Pixel (0, 0) has its centre at low + half a step.
    mask = skimage.draw.polygon2mask((size[1], size[0]), (outline[:, ::-1] - low[::-1]) / STEP - 0.5)
    props = skimage.measure.regionprops(mask.astype(int), spacing=STEP)[0]
    inscribed = 2 * scipy.ndimage.distance_transform_edt(mask).max() * STEP
    return {"feret_mm": round(float(props.feret_diameter_max), 4), "inscribed_mm": round(float(inscribed), 4), "area_mm2": round(float(props.area), 4)}


out = {"made_by": f"tests/scripts/shapes.py with scikit-image {skimage.__version__}, scipy {scipy.__version__}", "step_mm": STEP, "shapes": []}
for name, outline in SHAPES.items():
    out["shapes"].append({"name": name, **measured(outline), "outline_mm": [[round(float(x), 6), round(float(y), 6)] for x, y in outline]})
print(json.dumps(out))
