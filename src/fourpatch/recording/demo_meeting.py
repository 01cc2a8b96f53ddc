"""An invented test day, to see how one is noted."""

from fourpatch.recording.meeting import Meeting, Remark, RunNotes, SessionNotes

_FIRST = {"front bar": 4.0, "rear bar": 4.0}


def demo_meeting() -> Meeting:
    """Return a day with a demo car; everything in it is invented."""
    push = Remark(corner="3", phase="entry", text="pushes, has to wait for the nose")
    return Meeting(
        name="Spring test (invented)",
        date="2026-04-03",
        track="Demo chicanes",
        car="Demo GT",
        driver="A. Nobody",
        next_time="Begin with the rear bar at 6; look at the front tyres first.",
        sessions=[
            SessionNotes(
                name="Morning",
                start="09:30",
                track_state="dry, green",
                air_temperature=282.15,
                track_temperature=287.15,
                wind_speed=4.0,
                wind_from="west",
                runs=[
                    RunNotes(
                        setup="A",
                        values=_FIRST,
                        tyres="set 1",
                        tyre_laps=12,
                        fuel=45.0,
                        laps="1:38.2x 1:35.41 1:35.18 1:35.6 1:35.22 1:35.3",
                        remarks=[push],
                    ),
                    RunNotes(
                        setup="B",
                        values={**_FIRST, "rear bar": 6.0},
                        tyres="set 1",
                        tyre_laps=18,
                        fuel=45.0,
                        laps="1:37.9x 1:34.9 1:34.81 1:37.2(traffic) 1:34.98 1:34.77",
                        tried="rear bar +2 against the push",
                        outcome="worked",
                    ),
                    RunNotes(
                        setup="A",
                        values=_FIRST,
                        tyres="set 1",
                        tyre_laps=24,
                        fuel=45.0,
                        laps="1:37.0x 1:35.2 1:35.31 1:35.01 1:35.25",
                        note="back to A, to see what the track did",
                    ),
                ],
            )
        ],
    )
