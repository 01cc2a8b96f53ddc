"""Colours of the app, chosen by us, light and dark; a test computes their contrast and who tells them apart.

Colour never speaks alone: the front axle is blue *and* solid or marked "front", the rear rust *and* dashed or
marked "rear"; left is the darker and right the lighter of an axle's two inks; A is grey and dashed, B green
and solid; a slow place of a lap is violet *and* wide, a fast one green and narrow. The inks of axles and
steps are those of the figures (`fourpatch.picture.palette`).
"""

from pathlib import Path

from fourpatch.picture.palette import DOWN, FRONT, INK, QUIET, REAR, ROAD, UP

LIGHT = {
    "paper": "#f4f1ea",
    "card": "#fffdf8",
    "shade": "#ebe7dd",
    "ink": INK,
    "ink-soft": QUIET,
    "line": "#d8d2c4",
    "edge": "#8b8574",
    "a": QUIET,
    "b": UP.color,
    "b-strong": "#07523a",
    "on-b": "#ffffff",
    "front": FRONT.color,
    "rear": REAR.color,
    "fl": FRONT.color,
    "fr": "#2f6db5",
    "rl": "#8f3208",
    "rr": "#b04c0c",
    "warn": DOWN.color,
    "road": ROAD.color,
    "speed-0": "#3b1a5a",
    "speed-1": "#54439a",
    "speed-2": "#2a6a99",
    "speed-3": "#0f7a6f",
    "speed-4": "#567c14",
}

DARK = {
    "paper": "#14191f",
    "card": "#1d232a",
    "shade": "#28303a",
    "ink": "#ece9e3",
    "ink-soft": "#aab2bc",
    "line": "#3a444f",
    "edge": "#7d8894",
    "a": "#aab2bc",
    "b": "#63d1a6",
    "b-strong": "#8be0bf",
    "on-b": "#10231c",
    "front": "#8dbcf2",
    "rear": "#ee9a6b",
    "fl": "#a9cdf7",
    "fr": "#6ba7ea",
    "rl": "#f7b391",
    "rr": "#e5854f",
    "warn": "#e79ad3",
    "road": "#c9b37a",
    "speed-0": "#dcb8ff",
    "speed-1": "#aca7f5",
    "speed-2": "#79b8e8",
    "speed-3": "#5ecbb5",
    "speed-4": "#b8d867",
}

_START = """
const fpLook = (look) => {
  const dark = look === 'dark' || (look !== 'light' && matchMedia('(prefers-color-scheme: dark)').matches);
  document.documentElement.dataset.look = dark ? 'dark' : 'light';
  if (window.Quasar) Quasar.Dark.set(dark);
  window.dispatchEvent(new Event('fp-look'));
};
const fpKeepLook = (look) => { localStorage.setItem('fp-look', look); fpLook(look); };
fpLook(localStorage.getItem('fp-look') || 'system');
matchMedia('(prefers-color-scheme: dark)').addEventListener('change',
  () => fpLook(localStorage.getItem('fp-look') || 'system'));
new MutationObserver((_, observer) => {
  const choice = document.getElementById('fp-look-choice');
  if (!choice) return;
  observer.disconnect();
  choice.value = localStorage.getItem('fp-look') || 'system';
  fpLook(choice.value);
}).observe(document.documentElement, { childList: true, subtree: true });
"""


def head_html() -> str:
    """Return what every page has in its head: the colours, the styles and the choice of light or dark."""
    here = Path(__file__).parent
    files = [here / "theme.css", *sorted(here.glob("parts/*.css")), here / "parts/uplot/uPlot.min.css"]
    styles = "".join(file.read_text(encoding="utf-8") for file in files)
    scripts = "".join(file.read_text(encoding="utf-8") for file in sorted(here.glob("parts/*.head.js")))
    light, dark = (
        "".join(f"--fp-{name}: {color};" for name, color in colors.items()) for colors in (LIGHT, DARK)
    )
    return (
        f"<style>:root {{ {light} color-scheme: light; }} "
        f":root[data-look=dark] {{ {dark} color-scheme: dark; }} {styles}</style>"
        f"<script>{_START}{scripts}</script>"
    )
