"""Optics: pure functions on arrays. The conventions, stated once:

- World: right-handed, metres, +Y up. A camera looks down its own -Z, +X right, +Y up (glTF 2.0).
- Matrices are 4 x 4 float64 for column vectors, row-major in memory. `view` takes world to camera
  space, `projection` takes camera space to clip space (OpenGL, z from -1 to 1 after the divide).
- Pixels: origin at the top-left corner of the picture, y down, pixel centres at .5.
- Screen fractions: pixels over width and height, from the top-left.
- Directions on screen: degrees, 0 right, 90 up, in (-180, 180].
- Depth: metres along the camera's axis (planar), positive in front, for every projection.
- Offsets: fractions of width and height from the picture's centre, right and **up** positive.
- What lies behind a perspective eye has no place on screen: nan, never a plausible number.
"""

from __future__ import annotations

from stationpoint.camera.aim.aim import Shape, aim_camera, aspect_of, middle_on_floor, pulled_in, with_notes
from stationpoint.camera.aim.fields import Lens, pose_of
from stationpoint.camera.aim.hold import ACTION_SAFE
from stationpoint.camera.camera import (
    Camera,
    depths,
    focal_px,
    frontal_px_per_m,
    horizon_fraction,
    jacobian_px_per_m,
    pixel_rays,
    project_points,
    resized_camera,
    to_clip,
    unproject_pixels,
    windowed_camera,
)
from stationpoint.camera.pose import backward_axis, turned_by, view_from, yaw_pitch_roll
from stationpoint.camera.seat import (
    Seat,
    arcmin_between,
    centre_of_projection_m,
    depth_stretch,
    edge_stretch,
    picture_hfov_deg,
    seat_at,
)
from stationpoint.camera.shot import (
    COLOUR,
    DEPTH,
    IDS,
    MEASURED,
    MOST_WHOLE,
    PLANES,
    WHOLE,
    Frame,
    Frames,
    PartPx,
    Setup,
    Shot,
    ShotKey,
)

__all__ = [
    "ACTION_SAFE",
    "COLOUR",
    "DEPTH",
    "IDS",
    "MEASURED",
    "MOST_WHOLE",
    "PLANES",
    "WHOLE",
    "Camera",
    "Frame",
    "Frames",
    "Lens",
    "PartPx",
    "Seat",
    "Setup",
    "Shape",
    "Shot",
    "ShotKey",
    "aim_camera",
    "arcmin_between",
    "aspect_of",
    "backward_axis",
    "centre_of_projection_m",
    "depth_stretch",
    "depths",
    "edge_stretch",
    "focal_px",
    "frontal_px_per_m",
    "horizon_fraction",
    "jacobian_px_per_m",
    "middle_on_floor",
    "picture_hfov_deg",
    "pixel_rays",
    "pose_of",
    "project_points",
    "pulled_in",
    "resized_camera",
    "seat_at",
    "to_clip",
    "turned_by",
    "unproject_pixels",
    "view_from",
    "windowed_camera",
    "with_notes",
    "yaw_pitch_roll",
]
