"""Camera: two matrices and a picture size; points to pixels and back, scale, derivatives."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.camera.pose import eye_of
from stationpoint.camera.projection import windowed_projection

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]

PERSPECTIVE, ORTHOGRAPHIC, OBLIQUE = "perspective", "orthographic", "oblique"


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """A camera as the renderers and the readings see it.

    view: (4, 4) world to camera. projection: (4, 4) camera to clip. pixels: (width, height).
    kind: "perspective", "orthographic" or "oblique". near_m, far_m: the planes of `projection`,
    metres along the axis (near_m may be negative in parallel views). whole: (4, 4) world to clip.
    """

    view: Matrix
    projection: Matrix
    pixels: tuple[int, int]
    kind: str
    near_m: float
    far_m: float
    whole: Matrix = field(init=False, repr=False)

    def __post_init__(self) -> None:
        view, projection = (np.array(one, dtype=np.float64) for one in (self.view, self.projection))
        for name, matrix in (("view", view), ("projection", projection), ("whole", projection @ view)):
            matrix.flags.writeable = False
            object.__setattr__(self, name, matrix)

    @property
    def parallel(self) -> bool:
        """Whether all sightlines are parallel (orthographic and oblique)."""
        return self.kind != PERSPECTIVE

    @property
    def eye_m(self) -> Points:
        """The eye in the world, (3,); for parallel views the origin of camera space."""
        return eye_of(self.view)

    @property
    def right(self) -> Points:
        """The camera's right in the world, unit (3,)."""
        return self.view[0, :3]

    @property
    def up(self) -> Points:
        """The camera's up in the world, unit (3,)."""
        return self.view[1, :3]

    @property
    def forward(self) -> Points:
        """The camera's axis in the world, unit (3,)."""
        return -self.view[2, :3]


def to_clip(camera: Camera, points_m: ArrayLike) -> Points:
    """Clip coordinates (n, 4) of world points (n, 3)."""
    clip: Points = _rows(points_m) @ camera.whole[:, :3].T
    clip += camera.whole[:, 3]
    return clip


def _rows(given: ArrayLike) -> Points:
    """Points (n, k) of points, or of one alone, (k,)."""
    points = np.asarray(given, dtype=np.float64)
    return points if points.ndim == 2 else np.atleast_2d(points)


def depths(camera: Camera, points_m: ArrayLike) -> NDArray[np.float64]:
    """Signed depth in metres along the axis, (n,), of world points (n, 3), or (..., n) of (..., n, 3)."""
    depth: NDArray[np.float64] = -(_rows(points_m) @ camera.view[2, :3] + camera.view[2, 3])
    return depth


def project_points(camera: Camera, points_m: ArrayLike) -> Points:
    """Pixels (n, 2) of world points (n, 3); nan for what lies at or behind a perspective eye."""
    clip = to_clip(camera, points_m)
    width, height = camera.pixels
    at: Points = clip[:, :2]
    at /= np.where(clip[:, 3:] > 0.0, clip[:, 3:], np.nan)
    at *= (1.0, -1.0)
    at += 1.0
    at *= (0.5 * width, 0.5 * height)
    return at


def unproject_pixels(camera: Camera, pixels: ArrayLike, depth_m: ArrayLike) -> Points:
    """World points (n, 3) at `depth_m` (n,) behind pixels (n, 2): the inverse of `project`."""
    at, p = _rows(pixels), camera.projection
    inner = np.empty((len(at), 3))
    inner[:, 2] = -np.asarray(depth_m, dtype=np.float64)
    z = inner[:, 2:]
    ndc = at / camera.pixels * (2.0, -2.0) + (-1.0, 1.0)
    inner[:, :2] = (ndc * (p[3, 2] * z + p[3, 3]) - p[:2, 2] * z - p[:2, 3]) / (p[0, 0], p[1, 1])
    inner -= camera.view[:3, 3]
    world: Points = inner @ camera.view[:3, :3]
    return world


def pixel_rays(camera: Camera, pixels: ArrayLike) -> tuple[Points, Points]:
    """Origins (n, 3) and directions (n, 3) of the sightlines through pixels (n, 2), world.

    Origins lie on the plane of depth 0; directions advance one metre of depth, so that
    origin + t * direction has depth t.
    """
    origin = unproject_pixels(camera, pixels, 0.0)
    return origin, unproject_pixels(camera, pixels, 1.0) - origin


def from_raw_depth(camera: Camera, raw: ArrayLike) -> NDArray[np.float64]:
    """Metres from a depth buffer's 0..1 values, any shape; 1 (nothing drawn) becomes infinity.

    Inverts the projection that was used: OpenGL's window depth is (ndc z + 1) / 2.
    """
    ndc = np.asarray(raw, dtype=np.float64) * 2.0 - 1.0
    p = camera.projection
    with np.errstate(divide="ignore", invalid="ignore"):
        # ndc = (p22 z + p23) / (p32 z + p33)
        z = (p[2, 3] - ndc * p[3, 3]) / (ndc * p[3, 2] - p[2, 2])
    return np.where(np.asarray(raw) >= 1.0, np.inf, -z)


def focal_px(camera: Camera) -> float:
    """Focal length in pixels of the picture's width (perspective): F = m00 W / 2."""
    return float(camera.projection[0, 0]) * camera.pixels[0] / 2.0


def frontal_px_per_m(camera: Camera, points_m: ArrayLike) -> NDArray[np.float64]:
    """Pixels per metre, (n,), at world points (n, 3) for a length parallel to the picture and level.

    F / z in perspective, one constant in parallel views; nan behind a perspective eye.
    Worked: F 1866.67 at 8 m is 233.33.
    """
    scale = focal_px(camera)
    z = depths(camera, points_m)
    if camera.parallel:
        return np.full(z.shape, scale)
    with np.errstate(divide="ignore"):
        return np.where(z > 0.0, scale / z, np.nan)


def jacobian_px_per_m(camera: Camera, point_m: ArrayLike) -> Points:
    """Derivative of the pixel position by the world position at one point: (2, 3), px a metre.

    Rows: screen x right, screen y **down**. nan behind a perspective eye.
    """
    whole = camera.whole
    x, y, _, w = (whole[:, :3] @ np.asarray(point_m, dtype=np.float64) + whole[:, 3]).tolist()
    if w <= 0.0:
        return np.full((2, 3), np.nan)
    width, height = camera.pixels
    # Quotient rule of the divide by w: both rows of the picture, all three world axes.
    result: Points = whole[:2, :3] - np.array([[x / w], [y / w]]) * whole[3, :3]
    result *= np.array([[width / 2.0 / w], [-height / 2.0 / w]])
    return result


def resized_camera(camera: Camera, pixels: tuple[int, int]) -> Camera:
    """The same picture at another pixel size (its aspect is taken to be the same)."""
    return replace(camera, pixels=pixels)


def windowed_camera(
    camera: Camera, box_px: tuple[float, float, float, float], pixels: tuple[int, int]
) -> Camera:
    """The camera that draws only the part `box_px` (left, top, right, bottom) into `pixels`.

    The box may reach outside the picture. Depth is the same as the whole camera's. All of the picture in
    its own pixels is the camera itself, so that whoever keeps what it sees knows it again.
    """
    width, height = camera.pixels
    left, top, right, bottom = box_px
    if (left, top, right, bottom, *pixels) == (0.0, 0.0, width, height, width, height):
        return camera
    box = (left / width, top / height, right / width, bottom / height)
    projection = windowed_projection(camera.projection, box)
    return Camera(camera.view, projection, pixels, camera.kind, camera.near_m, camera.far_m)


def principal_point_px(camera: Camera) -> tuple[float, float]:
    """Where the camera's axis meets the picture, pixels (perspective and orthographic)."""
    width, height = camera.pixels
    p = camera.projection
    x, y = (-p[0, 2], -p[1, 2]) if p[3, 2] != 0.0 else (p[0, 3], p[1, 3])
    return float((x + 1.0) * 0.5 * width), float((1.0 - y) * 0.5 * height)


def vanishing_px(camera: Camera, direction: ArrayLike) -> tuple[float, float] | None:
    """Pixel where all lines along `direction` (3,), world, any length, meet on the picture.

    None in parallel views and for a direction parallel to the picture. A direction and its reverse
    meet at the same place; it may lie far outside the picture. Source: definition.
    Worked: F 1000 px, pitched 20 degrees down: uprights meet 2747.48 px under the principal point.
    """
    if camera.parallel:
        return None
    way = np.asarray(direction, dtype=np.float64)
    clip = camera.whole[:, :3] @ way
    if abs(clip[3]) <= 1e-9 * float(np.linalg.norm(way)):
        return None
    width, height = camera.pixels
    return float((clip[0] / clip[3] + 1.0) * 0.5 * width), float((1.0 - clip[1] / clip[3]) * 0.5 * height)


def horizon_fraction(camera: Camera, at_x: float = 0.5) -> float | None:
    """Row of the horizon as a fraction of the height from the top, in column fraction `at_x`.

    None in parallel views, when looking straight up or down, or when the camera is rolled so that
    the horizon runs along the column. May lie outside 0..1; moves with the lens shift.
    """
    if camera.parallel:
        return None
    # Directions with no vertical part: solve (R^T d).y = 0 for the ndc of the column.
    p, r = camera.projection, camera.view[:3, :3]
    up = r[:, 1]  # the world's up in camera space
    x = ((2.0 * at_x - 1.0) + p[0, 2]) / p[0, 0]
    if abs(up[1]) < 1e-9:
        return None
    y = (up[2] - up[0] * x) / up[1]
    return float((1.0 - (p[1, 1] * y - p[1, 2])) * 0.5)
