"""x"""
import numpy as np
def dryness_shapes(t, activity, width, hinge):
    fall = np.maximum(0.99 - activity, 0.0)
    near = -np.expm1(-fall / width)
    above = t - hinge
    return near, 0.5 * (above + np.sqrt(above * above + 4.0)), fall
