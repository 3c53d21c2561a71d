#!/usr/bin/env python3
"""Corners of a chessboard in thirteen real photographs, as another library finds them.

Made with opencv-python 5.0.0 from Debian's package opencv-doc 4.6.0+dfsg-12 (photographs left01 to left14 and
left_intrinsics.yml; licence of the package: Apache-2.0 and BSD-3-Clause, copyright the OpenCV contributors). Only
coordinates are kept, no photograph.
Run:  apt-get download opencv-doc && dpkg-deb -x opencv-doc*.deb x
      python3 tests/scripts/chessboard.py x/usr/share/doc/opencv-doc/examples/data > fixtures/outside/chessboard.csv
Each row: photo, column and row of an inner corner (25 mm apart), its place in the photo (pixel centres at .5), and
the place where a lens without distortion would show it (published intrinsics, same pixels).
"""
import pathlib
import sys

import cv2
import numpy

assert cv2.__version__ == "5.0.0", cv2.__version__
COLUMNS, ROWS = 9, 6
folder = pathlib.Path(sys.argv[1])
told = cv2.FileStorage(str(folder / "left_intrinsics.yml"), cv2.FILE_STORAGE_READ)
camera, bend = told.getNode("camera_matrix").mat(), told.getNode("distortion_coefficients").mat()
print("# Made by tests/scripts/chessboard.py with opencv-python", cv2.__version__)
print("# Photographs: Debian opencv-doc 4.6.0+dfsg-12, Apache-2.0 and BSD-3-Clause, copyright the OpenCV contributors")
print(f"# Published: f {camera[0, 0]:.3f} px, centre {camera[0, 2] + 0.5:.3f} {camera[1, 2] + 0.5:.3f}, k1 {bend[0, 0]:.5f}, k2 {bend[1, 0]:.5f}")
print("# photo,column,row,x_px,y_px,straight_x_px,straight_y_px")
for path in sorted(folder.glob("left[01]?.jpg")):
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    found, corners = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
    if not found:
        continue
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 1e-4)
    corners = cv2.cornerSubPix(grey, corners, (5, 5), (-1, -1), stop).reshape(-1, 2)
    straight = cv2.undistortPoints(corners.reshape(-1, 1, 2), camera, bend, P=camera).reshape(-1, 2)
    for n, (seen, flat) in enumerate(zip(corners + 0.5, straight + 0.5)):
        print(f"{path.stem},{n % COLUMNS},{n // COLUMNS},{seen[0]:.4f},{seen[1]:.4f},{flat[0]:.4f},{flat[1]:.4f}")
