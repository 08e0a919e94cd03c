"""The desk and the lesson: pages on this machine that a browser shows.

They need the extra ``desk``: ``pip install "moistsim[desk]"``. Sliders move a scenario, and the engine
runs all its options while they move.
"""

from moistsim.desk.desk import run_desk
from moistsim.desk.knobs import KNOBS, moved
from moistsim.desk.lesson import LESSON, lesson_page, run_lesson
from moistsim.desk.usual import with_usual_options

__all__ = [
    "KNOBS",
    "LESSON",
    "lesson_page",
    "moved",
    "run_desk",
    "run_lesson",
    "with_usual_options",
]
