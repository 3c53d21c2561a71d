#!/usr/bin/env python3
"""Linear light of every sRGB byte by another library.

Made with scikit-image 0.26.0, numpy 2.4.6.
Run:  python3 tests/scripts/linear_light.py > fixtures/outside/linear-light.csv
Y of skimage.color.rgb2xyz for a grey byte: the second row of its matrix sums to 1, so Y is linear light.
"""
import numpy
import skimage
import skimage.color

assert skimage.__version__ == "0.26.0", skimage.__version__
print(f"# byte,linear light; tests/scripts/linear_light.py with scikit-image {skimage.__version__}")
for byte in range(256):
    grey = numpy.full((1, 1, 3), byte / 255.0)
    print(f"{byte},{skimage.color.rgb2xyz(grey)[0, 0, 1]:.9f}")
