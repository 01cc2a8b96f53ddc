"""Recordings as files: round trips by other libraries, every way to write CSV, and files that are none."""

import gzip
import io
import random
import zipfile
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.errors import RecordingError
from fourpatch.recording import text_source
from fourpatch.recording.csv_file import shape_of
from fourpatch.recording.files import read_file

TIME = np.arange(0.0, 3.0, 0.02)
TABLE = {
    ("Time", "s"): TIME,
    ("Speed", "km/h"): 100.0 + 20.0 * np.sin(TIME),
    ("Lat Acc", "g"): np.cos(3.0 * TIME),
    ("Gear", ""): np.round(3.0 + TIME),
}


def _csv(*, delimiter=",", decimal=".", head="", units="brackets", end="\n"):
    names = [f"{name} [{unit}]" if unit and units == "brackets" else name for name, unit in TABLE]
    rows = [delimiter.join(names)]
    if units == "row":
        rows.append(delimiter.join(unit for _, unit in TABLE))
    for row in zip(*TABLE.values(), strict=True):
        rows.append(delimiter.join(f"{value:.6f}".replace(".", decimal) for value in row))
    return head + end.join(rows) + end


def _assert_is_table(recording, rows=TIME.size):
    assert [(one.name, one.unit) for one in recording.columns] == list(TABLE)
    for column, values in zip(recording.columns, TABLE.values(), strict=True):
        # Six digits after the sign were written.
        assert_allclose(column.values, values[:rows], atol=0.51e-6)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize(
    ("delimiter", "decimal"), [(",", "."), (";", ","), ("\t", ","), (";", "."), ("|", ".")]
)
@pytest.mark.parametrize("units", ["brackets", "row"])
def test_csv_however_it_is_written(tmp_path: Path, encoding, delimiter, decimal, units):
    head = f"Fahrer{delimiter}Jürgen\nDatum 1.5.\n\n"
    text = _csv(delimiter=delimiter, decimal=decimal, head=head, units=units, end="\r\n")
    path = tmp_path / "day.csv"
    path.write_bytes(text.encode(encoding))
    recording = read_file(path)
    _assert_is_table(recording)
    assert recording.notes == ()
    path.write_bytes(gzip.compress(text.encode(encoding)))
    _assert_is_table(read_file(path))


def test_columns_parted_by_blanks(tmp_path: Path):
    path = tmp_path / "day.txt"
    lines = ["  Time   Speed", *(f"  {t:8.3f}   {t * t:10.4f} " for t in TIME)]
    path.write_text("\n".join(lines), encoding="utf-8")
    recording = read_file(path)
    assert [one.name for one in recording.columns] == ["Time", "Speed"]
    assert_allclose(recording.columns[1].values, TIME**2, atol=0.51e-4)


def test_csv_of_another_library(tmp_path: Path):
    path = tmp_path / "day.csv"
    frame = pd.DataFrame({f"{name} [{unit}]": values for (name, unit), values in TABLE.items()})
    frame.to_csv(path, index=False)
    for column, values in zip(read_file(path).columns, TABLE.values(), strict=True):
        assert_array_equal(column.values, values)  # the shortest text that reads back exactly


def test_times_of_day_and_dates_are_seconds(tmp_path: Path):
    path = tmp_path / "day.csv"
    rows = [
        "clock,date,run",
        *(f"12:00:{s:06.3f},2026-05-01T12:00:{s:06.3f}Z,1:{s:04.1f}" for s in (1.5, 2.25, 3.0)),
    ]
    path.write_text("\n".join(rows), encoding="utf-8")
    clock, date, run = (one.values for one in read_file(path).columns)
    assert_allclose(clock, 43200.0 + np.array([1.5, 2.25, 3.0]))
    day = (np.datetime64("2026-05-01") - np.datetime64("1970-01-01")).astype(float)
    assert_allclose(date, 86400.0 * day + clock)
    assert_allclose(run, 60.0 + np.array([1.5, 2.2, 3.0]), atol=0.051)  # one digit was written


@pytest.mark.parametrize("compression", ["snappy", "zstd", "none"])
def test_parquet_by_pyarrow(tmp_path: Path, compression):
    path = tmp_path / "day.parquet"
    fields = [pa.field(name, pa.float64(), metadata={"unit": unit}) for name, unit in TABLE]
    table = pa.table([pa.array(values) for values in TABLE.values()], schema=pa.schema(fields))
    pq.write_table(table, path, compression=compression, row_group_size=40)
    recording = read_file(path)
    assert [(one.name, one.unit) for one in recording.columns] == list(TABLE)
    for column, values in zip(recording.columns, TABLE.values(), strict=True):
        assert_array_equal(column.values, values)


def test_parquet_of_other_kinds_of_numbers(tmp_path: Path):
    path = tmp_path / "day.parquet"
    pq.write_table(
        pa.table(
            {
                "when": pa.array([1_000, 2_500], pa.timestamp("ms")),
                "count": pa.array([3, None], pa.int16()),
                "on": pa.array([True, False]),
                "small": pa.array([0.5, float("inf")], pa.float32()),
                "name": ["a", "b"],
            }
        ),
        path,
    )
    recording = read_file(path)
    found = {one.name: one.values.tolist() for one in recording.columns}
    assert found["when"] == [1.0, 2.5]
    assert found["on"] == [1.0, 0.0]
    assert_array_equal([found["count"][1], found["small"][1]], [np.nan, np.nan])
    assert recording.notes == ('"name" holds no numbers and was passed over.',)


def test_mdf_by_asammdf_keeps_each_clock(tmp_path: Path):
    asammdf = pytest.importorskip("asammdf")
    fast, slow = np.arange(0.0, 2.0, 0.01), np.arange(0.0, 2.0, 0.1)
    file = asammdf.MDF(version="4.10")
    speed = asammdf.Signal(samples=np.sin(fast), timestamps=fast, name="Speed", unit="km/h")
    gear = asammdf.Signal(samples=np.arange(slow.size), timestamps=slow, name="Gear")
    file.append([speed])
    file.append([gear])
    path = tmp_path / "day.mf4"
    file.save(path)
    file.close()
    recording = read_file(path)
    assert [(one.name, one.unit) for one in recording.columns] == [("Speed", "km/h"), ("Gear", "")]
    for column, values, clock in zip(
        recording.columns, (np.sin(fast), np.arange(slow.size)), (fast, slow), strict=True
    ):
        assert_array_equal(column.values, values)
        assert_array_equal(recording.clocks[column.clock], clock)


GPX = """<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1" xmlns:o="urn:other">
<metadata><time>2026-05-01T00:00:00Z</time></metadata>
<trk><name>a day</name><trkseg>
{}
</trkseg></trk></gpx>
"""
POINT = (
    '<trkpt lat="{lat}" lon="{lon}"><ele>{ele}</ele><time>{time}</time>'
    "<extensions><o:speed>{speed}</o:speed></extensions></trkpt>"
)


def test_gpx_by_the_elements_of_its_schema(tmp_path: Path):
    # trkpt with lat and lon, in it ele, time and extensions: types wptType and trkptType of gpx.xsd 1.1.
    points = [
        POINT.format(
            lat=48.0 + 1e-5 * k, lon=-11.5, ele=500 + k, time=f"2026-05-01T10:00:0{k}.5+02:00", speed=k
        )
        for k in range(4)
    ]
    path = tmp_path / "day.gpx"
    path.write_text(GPX.format("\n".join(points)), encoding="utf-8")
    found = {one.name: (one.unit, one.values) for one in read_file(path).columns}
    assert {name: unit for name, (unit, _) in found.items()} == {
        "lat": "deg", "lon": "deg", "ele": "m", "time": "s", "speed": "",
    }  # fmt: skip
    assert_allclose(found["lat"][1], 48.0 + 1e-5 * np.arange(4))
    assert_array_equal(found["ele"][1], 500.0 + np.arange(4))
    begun = np.datetime64("2026-05-01T08:00:00.500") - np.datetime64("1970-01-01")
    assert_allclose(found["time"][1], begun / np.timedelta64(1, "s") + np.arange(4))
    assert_array_equal(found["speed"][1], np.arange(4.0))


def _zip() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as file:
        file.writestr("a.csv", "a,b\n1,2\n")
    return made.getvalue()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"\n\n  \n", "is empty"),
        (bytes(range(256)) * 40, "is no text"),
        (_zip(), "ZIP archive"),
        (b"PAR1 and nothing more", "damaged"),
        (b"MDF     4.10    and nothing more", "damaged or unfinished"),
        (b"hello\nworld\n", "no table of numbers: no two lines"),
        (b"<gpx><trk>", "GPX 1.1 has 'gpx' of"),
        (b"<html></html>", "not GPX 1.1"),
        (GPX.format("<trkpt lat='1'").encode(), "line 6"),
        (GPX.format("").encode(), "0 track points"),
        (b"<!DOCTYPE gpx [<!ENTITY a 'b'>]><gpx/>", "XML entities"),
        (GPX.format("").replace("UTF-8", "UUTF-8").encode(), "encoding that does not exist"),
        (gzip.compress(b"a,b\n" + b"1,2\n" * 1000)[:-20], "cut off"),
        (gzip.compress(b"a,b\n" + b"1,2\n" * 1000)[:30] + b"damage" * 9, "cannot be unpacked"),
        ("\n".join([",".join(["1"] * 200_000)] * 2).encode(), "line is longer"),
        (((",".join("1" * 6000) + "\n") * 3).encode(), "6000 columns; 5000"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",  # packed bytes hold the time
)  # fmt: skip
def test_what_is_no_recording_is_refused_with_a_remedy(tmp_path: Path, content, said):
    path = tmp_path / "day.csv"
    path.write_bytes(content)
    with pytest.raises(RecordingError) as refused:
        read_file(path)
    assert said in str(refused.value)
    assert str(refused.value).startswith(("day.csv: ", str(path)))


def test_a_missing_file_and_a_folder(tmp_path: Path):
    for path, said in ((tmp_path / "none.csv", "cannot be read"), (tmp_path, "is a folder")):
        with pytest.raises(RecordingError, match=said):
            read_file(path)


def test_a_decompression_bomb_is_stopped(tmp_path: Path, monkeypatch):
    path = tmp_path / "day.csv.gz"
    path.write_bytes(gzip.compress(b"a,b\n" + b"1,2\n" * 500_000))
    assert read_file(path).columns[0].values.size == 500_000
    monkeypatch.setattr(text_source, "_TRUSTED", 1_000_000)
    with pytest.raises(RecordingError, match="which no recording does"):
        read_file(path)


def test_a_wrong_ending_is_no_obstacle(tmp_path: Path):
    path = tmp_path / "day.parquet"
    path.write_text(_csv(), encoding="utf-8")
    _assert_is_table(read_file(path))


def test_cells_and_rows_at_fault_are_named_by_line(tmp_path: Path):
    lines = _csv().splitlines()
    lines[10] = lines[10].replace(",", ";")
    lines[20] = lines[20].rpartition(",")[0] + ",broken"
    path = tmp_path / "day.csv"
    path.write_text("\n".join(lines) + "\n1.0,2", encoding="utf-8")  # ... and cut off at the end
    recording = read_file(path)
    assert recording.columns[0].values.size == TIME.size - 1
    assert any("2 rows have not 4 columns" in one and "11" in one for one in recording.notes)
    assert any('1 cells of "Gear"' in one and "21" in one for one in recording.notes)
    assert np.isnan(recording.columns[3].values).sum() == 1


def test_a_table_that_changes_its_width_is_refused_whole(tmp_path: Path):
    path = tmp_path / "day.csv"
    path.write_text(_csv() + "a,b\n" + "1,2\n" * 50, encoding="utf-8")
    with pytest.raises(RecordingError, match=r"do not have 4 columns, the first in lines 152, 153, 154"):
        read_file(path)


def test_odd_headings(tmp_path: Path):
    path = tmp_path / "day.csv"
    body = "".join(f"{t:.2f},{t + 1:.2f},{t + 2:.2f}\n" for t in TIME)
    for head, names, note in (
        ("", ["column 1", "column 2", "column 3"], "no heading"),
        ("a,b,b\n", ["a", "b", "b (2)"], "same name"),
        ("front,front,rear\ntravel,speed,travel\n", ["front travel", "front speed", "rear travel"], ""),
        ("# t,x,y\n", ["t", "x", "y"], ""),
        ("words above that are not a heading\n", ["column 1", "column 2", "column 3"], "no heading of 3"),
    ):
        path.write_text(head + body, encoding="utf-8")
        recording = read_file(path)
        assert [one.name for one in recording.columns] == names
        assert any(note in one for one in recording.notes) if note else not recording.notes
        assert recording.columns[0].values.size == TIME.size


def test_only_what_is_wanted_is_read(tmp_path: Path):
    csv, parquet = tmp_path / "day.csv", tmp_path / "day.parquet"
    csv.write_text(_csv(), encoding="utf-8")
    pq.write_table(
        pa.table({name: values for (name, _), values in TABLE.items()}), parquet, row_group_size=10
    )
    for path in (csv, parquet):
        recording = read_file(path, only={"Speed"})
        assert [one.name for one in recording.columns] == ["Speed"]
        assert recording.complete
    part = read_file(parquet, most_rows=20)
    assert not part.complete
    assert 20 <= part.columns[0].values.size < TIME.size


def test_the_layout_is_of_names_and_units_alone(tmp_path: Path):
    path, other, third = (tmp_path / name for name in ("a.csv", "b.csv", "c.csv"))
    path.write_text(_csv(), encoding="utf-8")
    other.write_text(_csv(delimiter=";", decimal=","), encoding="utf-8")
    third.write_text(_csv().replace("km/h", "mph"), encoding="utf-8")
    assert read_file(path).layout == read_file(other).layout != read_file(third).layout


@pytest.mark.parametrize("kind", ["csv", "gpx", "parquet", "gz"])
def test_mutated_files_never_end_in_a_traceback(tmp_path: Path, kind):
    table = pa.table({name: values for (name, _), values in TABLE.items()})
    made = io.BytesIO()
    pq.write_table(table, made)
    points = "\n".join(
        POINT.format(lat=48.0, lon=k, ele=5, time="2026-05-01T10:00:00Z", speed=k) for k in range(9)
    )
    whole = {
        "csv": _csv(units="row", head="Fahrer,X\n").encode(),
        "gpx": GPX.format(points).encode(),
        "parquet": made.getvalue(),
        "gz": gzip.compress(_csv().encode()),
    }[kind]
    draw = random.Random(7)
    path = tmp_path / "day"
    for _ in range(60):
        path.write_bytes(mutated(whole, draw))
        try:
            recording = read_file(path)
        except RecordingError:
            continue
        sizes = {one.clock: one.values.size for one in recording.columns}
        assert all(one.values.size == sizes[one.clock] for one in recording.columns)


def mutated(whole: bytes, draw: random.Random) -> bytes:
    """Return a file with a few of its bytes changed, cut out, doubled, or with lines in another order."""
    made = bytearray(whole)
    for _ in range(draw.randint(1, 4)):
        at, length = draw.randrange(len(made)), draw.randint(1, 40)
        match draw.randrange(6):
            case 0:
                made[at] = draw.randrange(256)
            case 1:
                del made[at : at + length]
            case 2:
                made[at:at] = made[at : at + length]
            case 3:
                made[at:at] = draw.choice([b",", b";", b"\n", b'"', b"\0", b"nan", b"1e999", b"\xff\xfe"])
            case 4:
                made = made[: max(at, 1)]
            case 5:
                made += made[:at]
        if not made:
            made = bytearray(b"x")
    return bytes(made)


def test_the_shape_of_a_table(tmp_path: Path):
    path = tmp_path / "day.csv"
    path.write_text(_csv(delimiter=";", decimal=",", head="x\n"), encoding="utf-8")
    shape = shape_of(path)
    assert (len(shape.names), shape.delimiter, shape.decimal, shape.first) == (4, ";", ",", 2)
