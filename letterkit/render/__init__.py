"""A finished letter as a file: one module a format, each a function of the document model alone.

Here may stand: the table of formats, the renderers, and what a format needs (for DOCX the clinic's letterhead). Nothing
here adds, leaves out or rewords a sentence: a renderer sets what the letter holds, and refuses what it cannot set.
"""

from letterkit.render.base import FORMATS, Renderer, renderer

__all__ = ["FORMATS", "Renderer", "renderer"]
