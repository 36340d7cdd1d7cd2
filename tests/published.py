"""Expected numbers from outside the program, each table with its source.

"Computed" means: computed with numpy and checked against the independent libraries that are named
(OpenCV 5.0.0, three 0.187.0, gl-matrix 3.4.4, wgpu-matrix 3.4.2, shapely 2.2.0, Embree through
embreex 4.4.0). "From memory" means: no source was seen; no test and no caption may claim one.
World, pixels and offsets as in stationpoint/camera/__init__.py.
"""

from __future__ import annotations

from math import atan, degrees, sqrt
from typing import NamedTuple

# ---- Angle of view -------------------------------------------------------------------------------
# alpha = 2 atan(gate / 2 f): ScienceZero, "Angle of view". The columns h, v, d of the 36 x 24 mm gate
# agree to 0.001 degrees with the table on the leica-users list of 20 August 1999. The columns of
# 16:9, 21:9 (7:3) and 4:3 pictures matched on the 36 mm width: computed.
# f mm: (h, v of 3:2, d of 3:2, v of 16:9, d of 16:9, v of 21:9, v of 4:3), degrees
ANGLES_36_24_DEG: dict[float, tuple[float, float, float, float, float, float, float]] = {
    12: (112.620, 90.000, 121.966, 80.312, 119.683, 65.470, 96.733),
    14: (104.250, 81.203, 114.182, 71.750, 111.734, 57.711, 87.917),
    18: (90.000, 67.380, 100.476, 58.716, 97.851, 46.397, 73.740),
    20: (83.974, 61.928, 94.493, 53.702, 91.838, 42.185, 68.039),
    24: (73.740, 53.130, 84.062, 45.747, 81.425, 35.638, 58.716),
    28: (65.470, 46.397, 75.381, 39.761, 72.824, 30.807, 51.481),
    35: (54.432, 37.849, 63.440, 32.269, 61.087, 24.859, 42.185),
    40: (48.455, 33.398, 56.812, 28.409, 54.615, 21.832, 37.299),
    50: (39.598, 26.991, 46.793, 22.895, 44.886, 17.542, 30.219),
    70: (28.842, 19.455, 34.347, 16.461, 32.876, 12.578, 21.832),
    85: (23.913, 16.071, 28.558, 13.586, 27.313, 10.371, 18.049),
    100: (20.408, 13.686, 24.414, 11.563, 23.338, 8.822, 15.377),
    135: (15.189, 10.159, 18.208, 8.578, 17.395, 6.541, 11.421),
    200: (10.286, 6.867, 12.347, 5.796, 11.791, 4.418, 7.723),
    300: (6.867, 4.581, 8.249, 3.866, 7.876, 2.946, 5.153),
}

# Super 35, 4 perforations, full aperture 0.980 x 0.735 in: konvas.org, "FAQ, Super 35", and
# liquisearch, "35 mm film technical specifications" (the latter also for the 1.375:1 sound
# aperture, 0.866 x 0.630 in). Super 35, 3 perforations: from memory, sources disagree between 13.87
# and 14.14 mm high. The angles: computed. gate mm: {f mm: (h, v, d)}, degrees to 0.01
GATE_ANGLES_DEG: dict[tuple[float, float], dict[float, tuple[float, float, float]]] = {
    (24.89, 18.66): {
        18: (69.32, 54.80, 81.66),
        25: (52.93, 40.93, 63.78),
        35: (39.15, 29.85, 47.92),
        50: (27.95, 21.14, 34.56),
        85: (16.66, 12.53, 20.74),
    },
    (24.89, 13.87): {
        18: (69.32, 42.14, 76.72),
        25: (52.93, 31.01, 59.36),
        35: (39.15, 22.42, 44.30),
        50: (27.95, 15.79, 31.81),
        85: (16.66, 9.33, 19.03),
    },
    (22.00, 16.00): {18: (62.86, 47.92, 74.15)},
    (36.0, 20.25): {
        18: (90.00, 58.72, 97.85),
        25: (71.51, 44.10, 79.12),
        35: (54.43, 32.27, 61.09),
        50: (39.60, 22.90, 44.89),
        85: (23.91, 13.59, 27.31),
    },
}
# conversionencyclopedia.com, "Super 35 24.9 mm": a width of 24.9 mm, not 24.89. f mm: h degrees
ANGLES_24_9_DEG: dict[float, float] = {18: 69.341, 35: 39.162, 50: 27.965}

# tan(h/2) = a tan(v/2), tan(d/2) = tan(h/2) sqrt(1 + 1/a^2): geometry; the numbers: computed.
# h degrees: {aspect: (v, d)}
FROM_HORIZONTAL_DEG: dict[float, dict[float, tuple[float, float]]] = {
    60: {4 / 3: (46.826, 71.635), 16 / 9: (35.983, 67.043), 7 / 3: (27.796, 64.269)},
    70: {4 / 3: (55.413, 82.389), 16 / 9: (42.996, 77.556), 7 / 3: (33.408, 74.601)},
    90: {4 / 3: (73.740, 102.680), 16 / 9: (58.716, 97.851), 7 / 3: (46.397, 94.825)},
    110: {4 / 3: (93.933, 121.488), 16 / 9: (77.552, 117.210), 7 / 3: (62.939, 114.470)},
}
# v degrees: {aspect: h}
FROM_VERTICAL_DEG: dict[float, dict[float, float]] = {
    45: {4 / 3: 57.822, 16 / 9: 72.734, 7 / 3: 88.048},
    60: {4 / 3: 75.178, 16 / 9: 91.493, 7 / 3: 106.826},
    73.740: {4 / 3: 90.000, 16 / 9: 106.260, 7 / 3: 120.510},
    90: {4 / 3: 106.260, 16 / 9: 121.284, 7 / 3: 133.603},
}
# Screens sold as 21:9 are not 7:3. aspect: v degrees where h is 90. Computed.
REAL_21_9_V_DEG: dict[float, float] = {64 / 27: 45.747, 3440 / 1440: 45.429, 7 / 3: 46.397}
LENS_36_MM: dict[float, float] = {90: 18.000, 70: 25.707, 60: 31.177}  # h degrees: f mm on 36 mm. Computed.

# ---- Projection matrices -------------------------------------------------------------------------
# Form of the matrices: glTF 2.0, section 3.10.3 "Projection Matrices". The numbers: computed,
# gl-matrix and wgpu-matrix agree to 5e-16. Vertical angle 45 degrees, 16:9, near .1, far 100;
# orthographic half width 8, half height 4.5.
GLTF_YFOV_DEG, GLTF_ASPECT, GLTF_NEAR_M, GLTF_FAR_M = 45.0, 16 / 9, 0.1, 100.0
GLTF_XMAG_M, GLTF_YMAG_M = 8.0, 4.5
GLTF_P00, GLTF_P11 = 1.35799513, 2.41421356
# depth m: z after the divide, (finite, infinite, orthographic) in -1..1, then (perspective,
# reversed, reversed infinite, orthographic) in 0..1
GLTF_DEPTHS: dict[float, tuple[float, float, float, float, float, float, float]] = {
    0.1: (-1, -1, -1, 0, 1, 1, 0),
    1: (0.80180180, 0.8, -0.98198198, 0.90090090, 0.09909910, 0.1, 0.00900901),
    5: (0.96196196, 0.96, -0.90190190, 0.98098098, 0.01901902, 0.02, 0.04904905),
    20: (0.99199199, 0.99, -0.60160160, 0.99599600, 0.00400400, 0.005, 0.19919920),
    100: (1, 0.998, 1, 1, 0, 0.001, 1),
}
# raw depth 0..1: (perspective metres, orthographic metres), near .1, far 100. Computed.
RAW_DEPTHS: dict[float, tuple[float, float]] = {
    0.5: (0.19980, 50.05),
    0.9: (0.99108, 90.01),
    0.99: (9.09918, 99.001),
    0.999: (50.02501, 99.9001),
}
# An orthographic point at 12 m has this raw depth; read as a perspective one it would be .11351 m:
# the mistake told in the pyrender project's issues 72 and 254.
ORTHOGRAPHIC_12_M = (0.11911912, 0.11351)


class OffAxis(NamedTuple):
    """A screen in the world, an eye before it, and what the off-axis projection must be."""

    lower_left: tuple[float, float, float]
    lower_right: tuple[float, float, float]
    upper_left: tuple[float, float, float]
    eye: tuple[float, float, float]
    near_m: float
    far_m: float
    screen_distance_m: float
    frustum: tuple[float, float, float, float]  # left, right, bottom, top at the near plane
    p00: float
    p02: float
    p11: float
    p12: float
    point: tuple[float, float, float]
    ndc: tuple[float, float]
    depth_m: float


# R. Kooima, "Generalized perspective projection" (formulas). The numbers: computed, and checked
# against three's frameCorners to 2e-16.
KOOIMA = {
    "K1": OffAxis(
        (-0.8, 0.5, 0), (0.8, 0.5, 0), (-0.8, 1.4, 0), (0.2, 1.2, 1.5), 0.1, 100, 1.5,
        (-0.0666667, 0.04, -0.0466667, 0.0133333), 1.875, -0.25, 3.3333333, -0.5555556,
        (0, 1, -2), (0.1428571, 0.3650794), 3.5,
    ),
    "K2": OffAxis(
        (-1, 0, -1), (1, 0, -1.5), (-1, 1.2, -1), (0, 0.7, 1), 0.1, 50, 2.1828206,
        (-0.0222222, 0.0722222, -0.0320686, 0.0229061), 2.1176471, 0.5294118, 3.6380344, -0.1666667,
        (0.5, 0.9, -3), (0.2903226, 0.3602151), 3.7593022,
    ),
}  # fmt: skip

# ---- Parallel projections ------------------------------------------------------------------------


class Axonometry(NamedTuple):
    """A named orthographic view: scales of x, y (up), z and slopes of the two ground axes."""

    yaw_deg: float
    pitch_deg: float
    scales: tuple[float, float, float]
    slopes_deg: tuple[float, float]


# Geometry; the numbers: computed. Isometric to "about 81 percent" of full scale also in
# armyengineer.tpub.com, en01136, "oblique drawings". The names after ISO 5456-3: from memory.
AXONOMETRIES = {
    "isometric": Axonometry(45, degrees(atan(1 / sqrt(2))), (0.81650, 0.81650, 0.81650), (30, 30)),
    "2:1 pixel dimetric": Axonometry(45, 30, (0.79057, 0.86603, 0.79057), (26.56505, 26.56505)),
    "dimetric 7/42": Axonometry(20.70481, 19.47122, (0.94281, 0.94281, 0.47140), (7.1808, 41.4096)),
    "45/45": Axonometry(45, 45, (0.86603, 0.70711, 0.86603), (35.26439, 35.26439)),
    "side on, pitch 20": Axonometry(0, 20, (1, 0.93969, 0.34202), (0, 90)),
}

# (ratio, angle degrees): one metre of depth drawn (right, up) m; long over short axis of a sphere.
# Cavalier 1 and cabinet 1/2 at 45 degrees: armyengineer.tpub.com, en01136. The numbers: computed.
OBLIQUES: dict[tuple[float, float], tuple[tuple[float, float], float]] = {
    (1.0, 45): ((0.70711, 0.70711), 1.41421),
    (0.5, 45): ((0.35355, 0.35355), 1.11803),
    (0.5, 30): ((0.43301, 0.25), 1.11803),
}

# ---- Safe areas ----------------------------------------------------------------------------------
# SMPTE ST 2046-1:2009, safe action 93 %, safe title 90 % of width and of height, concentric (as
# quoted by the BKSTS Illustrated Dictionary, appendix B). picture px: (action w x h, title w x h)
SMPTE_SAFE_PX: dict[tuple[int, int], tuple[tuple[float, float], tuple[float, float]]] = {
    (1920, 1080): ((1785.6, 1004.4), (1728, 972)),
    (3840, 2160): ((3571.2, 2008.8), (3456, 1944)),
}
# EBU R 95: action safe 3.5 % in from each edge, graphics safe 5 % (whole pixels of 1920 x 1080: x, y)
EBU_SAFE_PX = {"action": (67, 38), "graphics": (96, 54)}

# ---- Seats ---------------------------------------------------------------------------------------


class Viewing(NamedTuple):
    """A screen and a seat, and what follows from them by geometry."""

    diagonal_in: float
    pixels: tuple[int, int]
    eye_m: float
    size_m: tuple[float, float]
    hfov_deg: float
    arcmin_per_px: float
    px_for_16_20_22: tuple[float, float, float]
    natural_focal_mm: float  # on 36 mm: the lens whose centre of projection is the eye


VIEWINGS = {  # computed
    "couch 55 in 1080": Viewing(
        55, (1920, 1080), 2.7, (1.2176, 0.6849), 25.413, 0.8074, (19.8, 24.8, 27.2), 79.83
    ),
    "couch 55 in 2160": Viewing(
        55, (3840, 2160), 2.7, (1.2176, 0.6849), 25.413, 0.4037, (39.6, 49.5, 54.5), 79.83
    ),
    "couch 65 in 2160": Viewing(
        65, (3840, 2160), 2.5, (1.4390, 0.8094), 32.111, 0.5153, (31.1, 38.8, 42.7), 62.54
    ),
    "desk 24 in 1080": Viewing(
        24, (1920, 1080), 0.6, (0.5313, 0.2989), 47.764, 1.5855, (10.1, 12.6, 13.9), 40.65
    ),
    "desk 27 in 1440": Viewing(
        27, (2560, 1440), 0.6, (0.5977, 0.3362), 52.956, 1.3378, (12.0, 15.0, 16.4), 36.14
    ),
    "handheld 7 in 720": Viewing(
        7, (1280, 720), 0.35, (0.1550, 0.0872), 24.966, 1.1891, (13.5, 16.8, 18.5), 81.31
    ),
}
# Where neighbouring pixels subtend one arc minute (the idea of Rec. ITU-R BT.500 and BT.2022);
# exact values 1 / (N tan 1'): computed. lines: (aspect, picture heights, picture width degrees)
DESIGN_DISTANCES = {
    480: (4 / 3, 7.162, 10.6),
    720: (16 / 9, 4.775, 21.1),
    1080: (16 / 9, 3.183, 31.2),
    1440: (16 / 9, 2.387, 40.8),
    2160: (16 / 9, 1.592, 58.4),
    4320: (16 / 9, 0.796, 96.3),
}
# Similar triangles; computed. f mm on 36 mm: (centre of projection m, depth stretch)
COUCH_STRETCH: dict[float, tuple[float, float]] = {
    18: (0.6088, 4.435),
    24: (0.8117, 3.326),
    35: (1.1838, 2.281),
    50: (1.6911, 1.597),
    85: (2.8749, 0.939),
    135: (4.5660, 0.591),
}
DESK_STRETCH: dict[float, float] = {
    18: 2.259,
    24: 1.694,
    35: 1.162,
    50: 0.813,
    85: 0.478,
}  # f mm: depth stretch

# ---- Edge stretch and the horizon ----------------------------------------------------------------
# Radial over tangential size of a small sphere t degrees off the principal axis: 1 / cos t, geometry;
# computed. t: 1 / cos t
EDGE_STRETCH: dict[float, float] = {
    10: 1.01543,
    20: 1.06418,
    30: 1.15470,
    40: 1.30541,
    45: 1.41421,
    50: 1.55572,
}
EDGE_STRETCH_POINT = ((3.0, 1.0, -6.0), 27.7913, 1.130388)  # in camera space: angle, limit ratio

# Sedgwick (1973), horizon ratio; computed. Level camera: eye 1.6 m, f 1000 px, a thing of 2.4 m at
# 10 m: px below (+) or above (-) the horizon of base and top, height in eye heights.
HORIZON_LEVEL = {"base": 160.0, "top": -80.0, "eye_heights": 1.5}
# Pitched 20 degrees down: eye 3 m, thing 1.8 m at 9 m, f 1000 px; px below the axis.
HORIZON_PITCHED = {
    "horizon": -363.970, "base": -27.322, "top": -219.962, "vanishing": 2747.477,
    "naive": 0.57223, "eye_heights": 0.6,
}  # fmt: skip

# ---- Worked cameras ------------------------------------------------------------------------------


class Worked(NamedTuple):
    """A worked camera. Either eye and to, or anchor, distance, pitch and yaw, are given."""

    kind: str
    lens: float  # focal length mm on 36 mm width; view height m if orthographic
    pixels: tuple[int, int]
    near_m: float
    far_m: float
    eye: tuple[float, float, float] | None = None
    to: tuple[float, float, float] | None = None
    distance_m: float = 0.0
    pitch_deg: float = 0.0
    yaw_deg: float = 0.0
    offset: tuple[float, float] = (0.0, 0.0)


POINTS = ((0.0, 0.9, 0.0), (1.0, 0.0, -2.0), (-2.5, 1.8, -6.0), (3.0, 0.5, 1.5))  # p1..p4
ANCHOR = POINTS[0]

# Computed: numpy, OpenCV projectPoints and three agree to 1e-12 px.
CAMERAS = {
    "C1": Worked("perspective", 35, (1920, 1080), 0.1, 100, eye=(0, 1.6, 8), to=(0, 1.6, 0)),
    "C2": Worked("perspective", 35, (1920, 1080), 0.1, 100, distance_m=8, pitch_deg=20),
    "C3": Worked(
        "perspective", 50, (1280, 720), 0.5, 60, distance_m=10, pitch_deg=30, yaw_deg=40, offset=(0.10, -0.12)
    ),
    "C4": Worked(
        "orthographic", 9, (1600, 900), 0.1, 50, distance_m=12, pitch_deg=35.2643897, yaw_deg=45
    ),
    "C5": Worked("perspective", 18, (640, 480), 0.1, 200, eye=(1.5, 1.7, 5), to=(0.5, 1, -1)),
}  # fmt: skip
# pixels of p1..p4, px from the top-left
CAMERA_PX = {
    "C1": ((960, 703.3333), (1146.6667, 838.6667), (626.6667, 513.3333), (1821.5385, 855.8974)),
    "C2": ((960, 540), (1143.2364, 569.6262), (609.9213, 134.2106), (1792.4329, 786.6519)),
    "C3": ((768, 446.4), (1093.0689, 499.4430), (999.3177, -15.9746), (1082.7328, 891.1766)),
    "C4": ((800, 450), (1012.1320, 482.6599), (1047.4874, 29.5043), (906.0660, 666.3716)),
    "C5": ((279.8114, 252.3889), (349.4907, 279.9163), (260.1193, 200.3543), (517.9547, 319.5323)),
}
CAMERA_DEPTHS_M = {
    "C1": (8, 10, 14, 6.5),
    "C2": (8, 10.187203, 13.330338, 6.727269),
    "C3": (10, 11.220157, 14.922160, 7.534868),
    "C4": (12, 13.096966, 16.387862, 9.632864),
    "C5": (5.236074, 7.135499, 11.421044, 3.321951),
}
CAMERA_STRETCH = {
    "C1": (1.003821, 1.017644, 1.015919, 1.114297),
    "C2": (1, 1.004932, 1.040399, 1.102872),
    "C3": (1, 1.017018, 1.041429, 1.045914),
    "C5": (1.008599, 1.011955, 1.024874, 1.201852),
}
CAMERA_HORIZON = {"C1": 0.5, "C2": -0.129084, "C3": -0.805556, "C5": 0.423280}  # fraction from the top
# nearest and farthest ground y = 0 in the axis's column, metres from under the eye; None: infinite
CAMERA_GROUND_M: dict[str, tuple[float, float | None]] = {
    "C1": (5.5309, None),
    "C2": (4.9801, 53.8133),
    "C3": (7.3515, 20.7060),
    "C5": (1.7955, None),
}
CAMERA_EYES_M = {"C3": (5.566704, 5.9, 6.634139), "C4": (6.928203, 7.828203, 6.928203)}
C1_P00_P11 = (1.9444444, 3.4567901)
C3_PROJECTION = (
    (2.7777778, 0, -0.2, 0), (0, 4.9382716, 0.24, 0), (0, 0, -1.0168067, -1.0084034), (0, 0, -1, 0),
)  # fmt: skip
C3_VIEW = (
    (0.7660444, 0, -0.6427876, 0), (-0.3213938, 0.8660254, -0.3830222, -0.7794229),
    (0.5566704, 0.5, 0.6634139, -10.45), (0, 0, 0, 1),
)  # fmt: skip
C4_PROJECTION = (
    (0.125, 0, 0, 0), (0, 0.2222222, 0, 0), (0, 0, -0.0400802, -1.0040080), (0, 0, 0, 1),
)  # fmt: skip

# World axes at p1, from OpenCV's Jacobian: px a metre of x, y, z; change of size, per cent a metre.
CAMERA_AXES = {
    "C1": ((233.3333, 233.3333, 20.4167), (0, 0, 12.5)),
    "C2": ((233.3333, 219.2616, 79.8047), (0, 4.2753, 11.7462)),
    "C3": ((147.6859, 153.9601, 133.0227), (5.5667, 5.0, 6.6341)),
    "C4": ((81.6497, 81.6497, 81.6497), (0, 0, 0)),
}


class Gap(NamedTuple):
    """A gap from (0, 0, 0) under a worked camera, and its readings."""

    camera: str
    to: tuple[float, float, float]
    reach_m: float
    true_span_m: float
    screen_px: float
    flat_span_m: float
    read_ratio: float
    scale_ratio: float
    landing_px_per_m: float
    misleading: bool


GAPS = (  # computed from the worked cameras' pixels
    Gap("C1", (0, 0, -4), 4.5, 4.0, 124.4444, 0.53333, 0.13333, 1.5, 20.7407, False),
    Gap("C1", (-1, 1.5, -3), 3.0, 3.5, 394.7051, 1.69159, 0.48331, 1.375, 82.0166, True),
    Gap("C2", (0, 0, -4), 4.5, 4.0, 270.8310, 1.20537, 0.30134, 1.45244, 46.6166, False),
    Gap("C2", (3, 0, 0), 2.5, 3.0, 674.0639, 3.0, 1.0, 1.0, 224.6880, False),
    Gap("C2", (-1, 1.5, -3), 3.0, 3.5, 501.4865, 2.23192, 0.63769, 1.27758, 112.1514, True),
    Gap("C4", (0, 0, -4), 4.5, 4.0, 326.5986, 3.26599, 0.81650, 1.0, 81.6497, False),
    Gap("C4", (3, 0, 0), 2.5, 3.0, 244.9490, 2.44949, 0.81650, 1.0, 81.6497, True),
)

# ---- Lens against distance -----------------------------------------------------------------------
# d2 = d1 f2 / f1 keeps the size at the anchor (8 m at 35 mm); geometry, computed. f mm: (distance m,
# size of a thing 20 m behind relative to the anchor's, front over back of a .5 m thick subject, drop
# of size per cent for a step of one metre away)
HELD: dict[float, tuple[float, float, float, float]] = {
    24: (5.4857, 0.21525, 1.0955, 15.419),
    35: (8.0, 0.28571, 1.0645, 11.111),
    50: (11.4286, 0.36364, 1.0447, 8.046),
    85: (19.4286, 0.49275, 1.0261, 4.895),
    135: (30.8571, 0.60674, 1.0163, 3.139),
}
