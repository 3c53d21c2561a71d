#!/usr/bin/env python3
"""Write the marker bits of the open 4x4_50 dictionary, one marker a line.

Made with opencv-python 5.0.0 (import cv2; cv2.__version__ == "5.0.0").
Run:  python3 tests/scripts/aruco_bits.py > fixtures/outside/aruco-4x4-50.txt
A line is `id bits`, rows from the top, 1 = white. Columns from the left.
"""
import cv2

assert cv2.__version__ == "5.0.0", cv2.__version__
dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
print(f"# 4x4_50 marker bits, read with opencv-python {cv2.__version__} by tests/scripts/aruco_bits.py")
for marker in range(50):
    picture = cv2.aruco.generateImageMarker(dictionary, marker, 6, borderBits=1)
    print(marker, "".join("1" if v else "0" for v in picture[1:5, 1:5].ravel()))
