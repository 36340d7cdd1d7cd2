"""OpenGL 4.5's functions and constants under one short name.

Only PyOpenGL's plain modules of the versions in use: `OpenGL.GL` loads every extension ever made
and takes longer than drawing a small sheet. Importing this loads the driver's libraries, so import
it only behind context.current_context().
"""

# ruff: noqa: F403
from typing import TYPE_CHECKING, Any

from OpenGL.raw.GL.VERSION.GL_1_0 import *
from OpenGL.raw.GL.VERSION.GL_1_1 import *
from OpenGL.raw.GL.VERSION.GL_1_3 import *
from OpenGL.raw.GL.VERSION.GL_1_4 import *
from OpenGL.raw.GL.VERSION.GL_1_5 import *
from OpenGL.raw.GL.VERSION.GL_2_0 import *
from OpenGL.raw.GL.VERSION.GL_3_0 import *
from OpenGL.raw.GL.VERSION.GL_3_2 import *
from OpenGL.raw.GL.VERSION.GL_4_1 import *
from OpenGL.raw.GL.VERSION.GL_4_3 import *
from OpenGL.raw.GL.VERSION.GL_4_5 import *

if TYPE_CHECKING:

    def __getattr__(name: str) -> Any:
        """PyOpenGL has no types."""
