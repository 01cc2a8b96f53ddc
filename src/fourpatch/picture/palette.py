"""Our colours, and the second sign that goes with each, so that no figure is told apart by colour alone.

Every ink stands out from the ground by at least 4.5 to 1, and inks that meet in one figure differ for
protan, deutan and tritan eyes (tests/unit/picture/test_palette.py computes both).

| meaning | ink | second sign |
|---|---|---|
| front axle, front wheels | blue | solid line, round marker |
| rear axle, rear wheels | rust | dashed line, square marker |
| one step up | green | filled triangle that points up |
| one step down | plum | open triangle that points down |
| a rule agrees | green | filled circle |
| a rule does the opposite | plum | filled cross |
| a rule goes both ways | earth | filled diamond |
| hardly measurable | quiet | small open circle |
| body | slate | thick line |
| road | earth | filled to the bottom |
"""

from dataclasses import dataclass

GROUND = "#ffffff"
INK = "#22272e"
"""Text and axes."""
QUIET = "#5b6470"
"""Second text: sources, notes."""
RULE = "#c9d0d8"
"""Grid lines: they carry no meaning."""
SHADE = "#eef2f6"
"""Every other phase."""
EARTH = "#e3dccb"
"""The road seen from the side, edged with its own ink."""
COST = (GROUND, "#d9cdb0", "#a08a55")
"""From nothing to much, of what a choice costs; contours with their numbers say it without colour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How one thing is drawn."""

    color: str
    dash: str = "-"
    """Line style."""
    marker: str = "o"
    filled: bool = True
    width: float = 1.6
    """[pt]"""

    @property
    def face(self) -> str:
        """Fill of the marker."""
        return self.color if self.filled else GROUND


FRONT = Pen(color="#14539a")
REAR = Pen(color="#a8410d", dash="--", marker="s")
UP = Pen(color="#0b6b4b", marker="^")
DOWN = Pen(color="#96347e", marker="v", filled=False)
BODY = Pen(color="#3d4653", width=2.4)
ROAD = Pen(color="#75602f")

OUTCOMES = {
    "agrees": Pen(color=UP.color),
    "against": Pen(color=DOWN.color, marker="X"),
    "mixed": Pen(color=ROAD.color, marker="D"),
    "hardly": Pen(color=QUIET, filled=False),
}
"""How what a rule of thumb says turned out."""

AXLES = {"front": FRONT, "rear": REAR}
CORNERS = {"FL": FRONT, "FR": FRONT, "RL": REAR, "RR": REAR}
