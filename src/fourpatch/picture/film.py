"""Frames as a film: MP4 (H.264), WebM (VP9) or GIF, by an encoder from the package index."""

from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Final

from fourpatch.document.saving import whole_file
from fourpatch.errors import FileError
from fourpatch.picture.moving_sheet import Frame, MovingSheet

_CODECS: Final = {".mp4": "libx264", ".webm": "libvpx-vp9"}
ENDINGS: Final = (*_CODECS, ".gif", ".png", ".svg")
_GIF_EVERY = 2  # of the frames: a GIF has no more than that to say, and grows large


def refuse_other_endings(path: Path) -> None:
    """Refuse a file of another kind, before anything is computed for it.

    Raises
    ------
    FileError
    """
    if path.suffix.lower() not in ENDINGS:
        raise FileError(
            f'{path}: "{path.suffix}" is no kind of film. Let the name end in .mp4, .webm or .gif, or in '
            ".png or .svg for its first picture."
        )


def save_film(frames: Iterator[Frame], path: Path, *, of: MovingSheet, rate: int) -> None:
    """Write a film by the ending of the name, whole or not at all; of .png and .svg the first frame alone.

    Parameters
    ----------
    of : what the frames are of.
    rate : frames per second.

    Raises
    ------
    FileError
        If the ending is another, or the film cannot be written.
    """
    refuse_other_endings(path)
    try:
        with whole_file(path) as unfinished:
            match path.suffix.lower():
                case ".png":
                    _pictures(islice(frames, 1), unfinished, rate)
                case ".svg":
                    next(frames)
                    of.save_svg(unfinished)
                case ".gif":
                    _pictures(islice(frames, None, None, _GIF_EVERY), unfinished, rate / _GIF_EVERY)
                case ending:
                    _encoded(frames, unfinished, _CODECS[ending], rate)
    except OSError as error:
        raise FileError(
            f"{path}: cannot be written ({error.strerror or error}); choose another place."
        ) from None


def _encoded(frames: Iterator[Frame], path: Path, codec: str, rate: int) -> None:
    import imageio_ffmpeg

    first = next(frames)
    height, width, _ = first.shape
    speed = ["-deadline", "realtime", "-cpu-used", "6"] if codec == "libvpx-vp9" else ["-preset", "veryfast"]
    writer = imageio_ffmpeg.write_frames(
        path,
        (width, height),
        fps=rate,
        codec=codec,
        pix_fmt_in="rgb24",
        pix_fmt_out="yuv420p",
        macro_block_size=2,
        output_params=speed,
        ffmpeg_log_level="error",
    )
    writer.send(None)
    try:
        writer.send(first)
        for frame in frames:
            writer.send(frame)
    finally:
        writer.close()


def _pictures(frames: Iterator[Frame], path: Path, rate: float) -> None:
    from PIL import Image

    first, *rest = (Image.fromarray(one) for one in frames)
    if path.suffix.lower() == ".png":
        first.save(path)
        return
    first.save(path, save_all=True, append_images=rest, duration=round(1000.0 / rate), loop=0, optimize=False)
