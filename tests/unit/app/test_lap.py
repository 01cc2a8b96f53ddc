"""Tracks, laps and jobs of the app: the same numbers as the analysis below, by page and by HTTP."""

import asyncio
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi import FastAPI
from httpx import ASGITransport, AsyncClient, Response
from numpy.testing import assert_allclose

from fourpatch.analysis.lap_summary import LapStudy, study_lap
from fourpatch.app.answers.lap import lap_answer
from fourpatch.app.answers.tracks import track_map
from fourpatch.app.api.faults import answer_faults
from fourpatch.app.api.jobs import jobs_routes
from fourpatch.app.api.lap import lap_routes
from fourpatch.app.api.questions import question_routes
from fourpatch.app.parts.quantity_form import form_fields
from fourpatch.app.shop import Shop
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.events.driver_style import DriverStyle
from fourpatch.notebook.notebook import open_notebook
from fourpatch.track.demo import demo_track
from fourpatch.track.layout import lay_out
from fourpatch.track.points import PointLine, Points
from fourpatch.track.track import Track

CAR, TRACK = "Demo GT", "Demo chicanes"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    opened = Shop(open_notebook(Path(tmp_path_factory.mktemp("notebook")) / "notebook.sqlite"))
    yield opened
    opened.close()


class Http:
    """Asks a server without a network between."""

    def __init__(self, server: FastAPI) -> None:
        self._transport = ASGITransport(server, raise_app_exceptions=False)

    def ask(self, method: str, path: str, json: Any = None) -> Response:
        async def answer() -> Response:
            async with AsyncClient(transport=self._transport, base_url="http://127.0.0.1") as client:
                return await client.request(method, path, json=json)

        return asyncio.run(answer())

    def get(self, path: str) -> Response:
        return self.ask("GET", path)

    def post(self, path: str, json: Any) -> Response:
        return self.ask("POST", path, json)

    def delete(self, path: str) -> Response:
        return self.ask("DELETE", path)


@pytest.fixture(scope="module")
def client(shop: Shop) -> Http:
    server = FastAPI()
    answer_faults(server)
    for routes in (jobs_routes, lap_routes, question_routes):
        server.include_router(routes(shop))
    return Http(server)


@pytest.fixture(scope="module")
def ids(shop: Shop, client: Http) -> dict[str, int]:
    cars = {one.name: one.id for one in shop.notebook.cars.listed()}
    tracks = {one["name"]: one["id"] for one in client.get("/api/lap/tracks").json()}
    return {"car": cars[CAR], "track": tracks[TRACK]}


@pytest.fixture(scope="module")
def study() -> LapStudy:
    car = demo_car("gt")
    return study_lap(apply_setup(car, baseline_setup(car)), demo_track("chicanes"))


def test_a_map_has_its_edges_and_kerbs_where_the_track_has_them() -> None:
    track = demo_track("chicanes")
    found, layout = track_map(1, track), lay_out(track)
    across = np.hypot(np.subtract(found.left.x, found.right.x), np.subtract(found.left.y, found.right.y))
    width = np.interp(found.distance, layout.distance, layout.left + layout.right)
    # Both edges are rounded to 1 cm, distances to 10 cm where the width changes by centimetres a metre.
    assert_allclose(across, width, atol=0.05)
    assert [one.start for one in found.surfaces] == [one.start for one in track.road.surface]
    assert found.surfaces[-1].end == layout.length
    assert {one.surface: one.coarseness for one in found.surfaces} == {"class B": 1, "class C": 2}
    for kerb, drawn in zip(track.road.kerbs, found.kerbs, strict=True):
        middle = np.hypot(np.diff(drawn.middle.x), np.diff(drawn.middle.y)).sum()
        # On the outside of a bend a kerb is longer than along the centre line, inside shorter.
        bent = np.abs(layout.curvature).max() * 8.0
        assert_allclose(middle, kerb.length, rtol=bent)


def test_the_answer_is_the_study_and_a_set_up_is_as_quick_as_itself(study: LapStudy) -> None:
    answer = lap_answer(study, study)
    assert_allclose(answer.gained, 0.0, atol=0.0)
    assert answer.a.lap_time == study.profile.lap_time
    assert_allclose(answer.a.time[-1], study.profile.lap_time, atol=5e-5)  # rounded to 0.1 ms
    assert_allclose(sum(answer.a.sector_times), study.profile.lap_time, rtol=1e-12)
    # A balance is given only where an axle is the limit, and then it is that axle's.
    for balance, limit in zip(answer.a.balance, study.profile.limit, strict=True):
        assert (balance is None) == (limit > 1)
        assert balance is None or abs(balance) < 0.01 or (balance > 0.0) == (limit == 0)


def test_a_lap_by_http_is_the_lap_of_the_analysis(client: Http, ids: dict[str, int], study: LapStudy) -> None:
    found = client.post("/api/lap/quasi-steady", json={**ids, "setup": {"front bar": 5.0}}).json()
    # The same computation: only JSON lies between.
    assert_allclose(found["a"]["lap_time"], study.profile.lap_time, rtol=1e-12)
    car = demo_car("gt")
    other = Setup(name="other", car=car.name, values={"front bar": 5.0})
    alone = study_lap(apply_setup(car, other), demo_track("chicanes"))
    # Limits are sought to 3e-4 alone and to 5e-5 beside another map: half of that in a lap's time, at most.
    assert_allclose(found["b"]["lap_time"], alone.profile.lap_time, rtol=2e-4)
    assert [one["corner"] for one in found["b"]["corners"]] == [one.corner for one in study.summary.corners]


def test_a_hasty_lap_says_which_is_quicker_and_by_about_how_much(shop: Shop, ids: dict[str, int]) -> None:
    car = demo_car("gt")
    a = baseline_setup(car)
    b = a.model_copy(update={"values": {**a.values, "fuel": 60.0}})
    answer = shop.laps.lap(car, a, b, ids["track"])
    hasty = shop.laps.hasty(car, a, b, ids["track"])
    assert answer.b.lap_time > answer.a.lap_time  # 10 kg of fuel cost time
    # Limits corrected by a slope that may be off by a fifth, at a quarter of the places.
    assert_allclose(hasty.gained[-1], answer.b.lap_time - answer.a.lap_time, rtol=0.25)
    assert_allclose(shop.laps.hasty(car, a, a, ids["track"]).gained, 0.0, atol=0.0)


@pytest.fixture
def oval(shop: Shop) -> int:
    """Keep an invented oval given by points, 60 m of radius, and return its id."""
    along = np.linspace(0.0, 1.0, 200, endpoint=False)
    turn = 2.0 * np.pi * along
    line = PointLine(file="oval.csv", points=Points(x=100.0 * np.cos(turn), y=60.0 * np.sin(turn)))
    road = demo_track("chicanes").road.model_copy(update={"kerbs": [], "elevation": [], "banking": []})
    wide = road.model_copy(update={"width": road.width[:1], "surface": road.surface[:1]})
    return shop.notebook.tracks.add(Track(name="Invented oval", centre_line=line, road=wide), by="a test").id


def test_a_track_of_points_is_lapped_and_asked_of_like_any_other(
    shop: Shop, client: Http, ids: dict[str, int], oval: int
) -> None:
    found = client.post("/api/lap/quasi-steady", json={**ids, "track": oval})
    assert found.status_code == 200, found.text
    car = demo_car("gt")
    alone = study_lap(apply_setup(car, baseline_setup(car)), shop.notebook.tracks.read(oval))
    assert_allclose(found.json()["a"]["lap_time"], alone.profile.lap_time, rtol=1e-12)  # the same computation
    asked = {"car": ids["car"], "track": oval, "complaint": "pushes at mid-corner"}
    begun = client.post("/api/advise/cure", json=asked).json()
    assert begun["kind"] == "advise cure"
    client.delete(f"/api/jobs/{begun['id']}")


def test_what_is_wrong_is_said_and_never_a_fault_of_the_server(client: Http, ids: dict[str, int]) -> None:
    refused = client.post("/api/lap/quasi-steady", json={**ids, "setup": {"front baar": 5.0}})
    assert refused.status_code == 422
    assert "front baar" in refused.json()["message"]
    assert client.post("/api/lap/quasi-steady", json={**ids, "track": 999}).status_code == 404
    assert client.post("/api/lap/quasi-steady", json={**ids, "car": 999}).status_code == 404
    assert client.get("/api/tracks/999/map").status_code == 404
    style = client.post("/api/lap/driven", json={**ids, "style": {"preview": 99.0}})
    assert style.status_code == 422
    assert "0.2 to 3 s" in style.text
    assert client.post("/api/lap/scatter", json={**ids, "laps": 1}).status_code == 422
    assert client.get("/api/jobs/lap-99").status_code == 404
    assert client.delete("/api/jobs/lap-99").status_code == 404


def test_a_drive_by_http_is_a_job_that_can_be_stopped(client: Http, ids: dict[str, int]) -> None:
    begun = client.post("/api/lap/driven", json=ids)
    assert begun.status_code == 202
    job = begun.json()
    assert CAR in job["about"]
    assert TRACK in job["about"]
    again = client.post("/api/lap/driven", json=ids).json()
    assert again["id"] == job["id"]  # the same question is worked on once
    client.delete(f"/api/jobs/{job['id']}")
    for _ in range(1200):
        ended = client.get(f"/api/jobs/{job['id']}").json()
        if ended["ended"] is not None:
            break
        time.sleep(0.1)
    assert ended["state"] == "cancelled"
    assert ended["error"] == ""
    assert job["id"] in [one["id"] for one in client.get("/api/jobs").json()]


def test_fields_stand_in_the_shown_unit_within_their_range() -> None:
    fields = {one["key"]: one for one in form_fields(DriverStyle())}
    assert fields["trail_braking"] == {
        "key": "trail_braking",
        "label": "Trail braking",
        "unit": "%",
        "low": 0.0,
        "high": 100.0,
        "value": 100.0,
        "say": fields["trail_braking"]["say"],
    }
    assert fields["trail_braking"]["say"].endswith("0 to 100 %.")
    # 14 rad/s, shown to four digits.
    assert_allclose(fields["steering_rate"]["value"], np.degrees(14.0), rtol=5e-4)
