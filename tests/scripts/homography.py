#!/usr/bin/env python3
"""Point pairs on a tilted plane with the homography another library fits to them.

Made with opencv-python 5.0.0, numpy 2.4.6 (fixed seed).
Run:  python3 tests/scripts/homography.py > fixtures/outside/homography.json
Each case: part points in mm, photo points in pixels, and cv2.findHomography(photo, part, 0): least squares
over all points. `probe_px` and `probe_mm`: places in the photo and where that homography puts them.
"""
import json

import cv2
import numpy

assert cv2.__version__ == "5.0.0", cv2.__version__
rng = numpy.random.default_rng(20)
GRID = numpy.array([(x * 12.0, y * 12.0) for y in range(1, 5) for x in range(1, 7)])
VIEWS = {
    "straight on": [[11.3, 0.0, 240.0], [0.0, 11.3, 310.0], [0.0, 0.0, 1.0]],
    "turned": [[4.1, -9.6, 1420.0], [9.5, 4.2, 180.0], [1e-6, -2e-6, 1.0]],
    "tilted 20": [[11.9, 1.3, 305.0], [-0.9, 10.8, 410.0], [6.0e-4, 9.0e-4, 1.0]],
    "tilted 40": [[9.1, -3.2, 900.0], [2.2, 7.7, 300.0], [-1.9e-3, 1.4e-3, 1.0]],
}
cases = []
for name, h in VIEWS.items():
    for noise in (0.0, 0.15):
        photo = cv2.perspectiveTransform(GRID[None], numpy.array(h))[0]
        photo = photo + rng.normal(0, noise, photo.shape) if noise else photo
        fit, _ = cv2.findHomography(photo, GRID, 0)
        probe = photo.mean(0) + numpy.array([[0, 0], [300, 0], [0, 300], [-300, 200], [500, -400]])
        where = cv2.perspectiveTransform(probe[None], fit)[0]
        cases.append({"name": f"{name}, corner noise {noise} px", "noise_px": noise, "photo_px": photo.round(6).tolist(), "part_mm": GRID.tolist(),
                      "probe_px": probe.round(6).tolist(), "probe_mm": where.round(7).tolist()})
print(json.dumps({"made_by": f"tests/scripts/homography.py with opencv-python {cv2.__version__}", "cases": cases}))
