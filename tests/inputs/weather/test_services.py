"""Weather services over a local server, through the real clients (requests, pvlib).

The services cannot be reached from every machine, so the answers here are invented
numbers in the shape of the services' documentation: the client code is the real one.
"""

import contextlib
import datetime
import http.server
import json
import threading
import time
import urllib.parse

import numpy as np
import pandas as pd
import pytest

from scheduler import cli
from scheduler.demand.et0.equations import wind_at_2_m
from scheduler.errors import InputError
from scheduler.inputs.weather import services
from scheduler.inputs.weather.climates import read_climate
from scheduler.report.books.fetched import fetched_file

TODAY = datetime.date(2026, 11, 25)
DAYS = pd.date_range("2023-01-01", "2024-12-31")


def power(units=None, fill=-999.0):
    """Two years of days as NASA POWER gives them for the community AG."""
    stamps = [f"{day:%Y%m%d}" for day in DAYS]
    values = {"T2M_MIN": 8.0, "T2M_MAX": 22.0, "T2MDEW": 7.0, "WS2M": 2.0,
              "ALLSKY_SFC_SW_DWN": 18.0, "PRECTOTCORR": 1.5}  # fmt: skip
    series = {name: dict.fromkeys(stamps, value) for name, value in values.items()}
    series["ALLSKY_SFC_SW_DWN"]["20230704"] = fill
    told = {"T2M_MIN": "C", "T2M_MAX": "C", "T2MDEW": "C", "WS2M": "m/s",
            "ALLSKY_SFC_SW_DWN": "MJ/m^2/day", "PRECTOTCORR": "mm/day"}  # fmt: skip
    told |= units or {}
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-120.0, 38.5, 231.0]},
        "properties": {"parameter": series},
        "header": {"title": "invented", "fill_value": fill, "time_standard": "LST"},
        "parameters": {n: {"units": unit, "longname": n} for n, unit in told.items()},
        "times": {"data": 0.1, "process": 0.1},
    }


def pvgis():
    """A typical year as PVGIS gives it, months of several years."""
    hours = pd.date_range("2001-01-01", periods=8760, freq="h")
    rows = [
        {"time(UTC)": f"{2008 + w.month}{w:%m%d:%H%M}", "T2m": 10.0 + w.hour / 4,
         "RH": 70.0, "G(h)": 200.0, "Gb(n)": 0.0, "Gd(h)": 0.0, "IR(h)": 300.0,
         "WS10m": 4.0, "WD10m": 90.0, "SP": 1e5}
        for w in hours
    ]  # fmt: skip
    place = {"latitude": 38.5, "longitude": -120.0, "elevation": 231.0}
    chosen = [{"month": m, "year": 2008 + m} for m in range(1, 13)]
    return {
        "inputs": {"location": place, "meteo_data": {"radiation_db": "invented"}},
        "outputs": {"months_selected": chosen, "tmy_hourly": rows},
        "meta": {"inputs": {"location": {"description": "Selected location"}}},
    }


def acis(value=None):
    """Two years of days as ACIS gives grids: a list a day, -999 where missing."""
    rows = [[f"{d:%Y-%m-%d}", 1.5, 22.0, 8.0] for d in DAYS]
    if value is not None:
        rows = [[row[0], *[value] * 3] for row in rows]
    return {"meta": {"lat": 38.5, "lon": -120.0, "elev": 758.0}, "data": rows}


ANSWERS = {"nasa-power": power, "pvgis": pvgis, "acis": acis}


class Server:
    """A local server that gives prepared answers in turn, the last one for ever."""

    def __init__(self):
        self.answers = []
        self.asked = []
        self.elsewhere = ""
        outer = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                length = int(self.headers.get("Content-Length", 0))
                outer.asked.append((self.path, self.rfile.read(length).decode()))
                place = min(len(outer.asked), len(outer.answers)) - 1
                status, body = outer.answers[place]
                body = body if isinstance(body, bytes) else json.dumps(body).encode()
                self.send_response(status)
                if outer.elsewhere:
                    self.send_header("Location", outer.elsewhere)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                # A client that hangs up on a long answer does what it should.
                with contextlib.suppress(BrokenPipeError, ConnectionResetError):
                    self.wfile.write(body)

            do_POST = do_GET  # noqa: N815

            def log_message(self, *_):
                pass

        self.http = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self.http.server_port}/"
        serve = threading.Thread(
            target=self.http.serve_forever, args=[0.01], daemon=True
        )
        serve.start()

    def close(self):
        self.http.shutdown()
        self.http.server_close()


@pytest.fixture
def server(monkeypatch):
    local = Server()
    for name in services.URLS:
        monkeypatch.setitem(services.URLS, name, local.url)
    monkeypatch.setattr(services, "FIRST_WAIT_S", 0.01)
    yield local
    local.close()


def fetched(service, waits=None):
    request = services.request(38.5, -120.0, 2023, 2024, TODAY)
    wait = (waits if waits is not None else []).append
    return services.fetch(service, request, wait)


def problem(service, waits=None):
    with pytest.raises(InputError) as caught:
        fetched(service, waits)
    return str(caught.value)


def test_nasa_power_gives_every_day_in_si(server):
    server.answers = [(200, power())]
    weather = fetched("nasa-power").weather

    # 2023 and 2024: 365 and 366 days.
    assert len(weather) == 731
    for name, value in (("tmin_c", 8), ("tmax_c", 22), ("dew_point_c", 7),
                        ("wind_m_s", 2), ("rain_mm", 1.5)):  # fmt: skip
        assert getattr(weather, name).tolist() == [value] * 731
    assert np.flatnonzero(np.isnan(weather.solar_mj_m2_day)).tolist() == [184]
    query = urllib.parse.parse_qs(urllib.parse.urlsplit(server.asked[0][0]).query)
    assert query["start"] == ["20230101"]
    assert query["end"] == ["20241231"]
    assert query["community"] == ["AG"]
    # NASA POWER daily API guide (from memory): LST is local solar time, and a day then
    # runs from midnight to midnight at the place; in UTC its night is another day's.
    assert query["time-standard"] == ["LST"]
    assert (query["latitude"], query["longitude"]) == (["38.5"], ["-120.0"])


def test_pvgis_gives_a_typical_year_without_rain(server):
    server.answers = [(200, pvgis())]
    weather = fetched("pvgis").weather

    assert len(weather) == 365
    assert weather.typical_year
    # 10 to 15.75 °C over any 24 hours; 200 W/m² are 17.28 MJ/m² a day (exact).
    assert weather.tmin_c == pytest.approx([10.0] * 365)
    assert weather.tmax_c == pytest.approx([15.75] * 365)
    assert weather.solar_mj_m2_day == pytest.approx([17.28] * 365)
    assert not weather.has("rain_mm")


def test_acis_gives_temperatures_and_rain(server):
    server.answers = [(200, acis())]
    weather = fetched("acis").weather

    assert len(weather) == 731
    assert weather.tmin_c.tolist() == [8.0] * 731
    assert weather.rain_mm.tolist() == [1.5] * 731
    # A foot is 0.3048 m (exact); the grid's elevation is in feet.
    assert weather.elevation_m == pytest.approx(758 * 0.3048)
    asked = json.loads(server.asked[0][1])
    assert asked["loc"] == "-120.0,38.5"
    assert (asked["sdate"], asked["edate"]) == ("2023-01-01", "2024-12-31")
    # Metric names that pvlib's client of the same service sends.
    assert [(e["name"], e["units"]) for e in asked["elems"]] == [
        ("pcpn", "mm"), ("maxt", "degreeC"), ("mint", "degreeC")]  # fmt: skip


# FAO-56, eq. 47: 10 m to 2 m is 4.87 / ln(672.58), 0.748.
@pytest.mark.parametrize("service", list(ANSWERS))
def test_what_is_written_is_read_again_offline(server, tmp_path, service):
    server.answers = [(200, ANSWERS[service]())]
    result = fetched(service)
    path = tmp_path / "weather.csv"
    path.write_text(fetched_file(result, "2026-11-25"), encoding="utf-8")
    problems = []
    weather = read_climate(path, "weather.csv", problems)

    assert problems == []
    assert np.array_equal(weather.date, result.weather.date)
    assert weather.tmin_c == pytest.approx(result.weather.tmin_c, abs=0.006)
    if service == "pvgis":
        assert weather.wind_m_s == pytest.approx(wind_at_2_m(4.0, 10.0), abs=0.006)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert [line.partition(":")[0].partition(" from")[0] for line in lines[:5]] == [
        "# Weather", "# Place", "# Period", "# Credit", "# Fetched"]  # fmt: skip


def test_a_busy_service_is_asked_again_with_longer_waits(server):
    server.answers = [(503, b"busy"), (429, b"slow down"), (200, power())]
    waits = []

    assert len(fetched("nasa-power", waits).weather) == 731
    assert len(server.asked) == 3
    assert waits == pytest.approx([0.01, 0.02])


def test_a_service_that_stays_busy_is_given_up(server):
    server.answers = [(503, b"busy")]

    assert problem("nasa-power") == (
        "NASA POWER: refuses the request: status 503\n"
        "  hint: does the service know this place and these years?"
    )
    assert len(server.asked) == services.TRIES


def test_a_refusal_is_told_in_the_service_s_words_and_not_repeated(server):
    server.answers = [(400, {"message": "Location over the sea.", "status": 400})]

    assert problem("pvgis").splitlines()[0] == (
        "PVGIS: refuses the request: Location over the sea."
    )
    assert len(server.asked) == 1


def test_an_error_that_acis_sends_as_a_good_answer_is_told(server):
    server.answers = [(200, {"error": "bad loc"})]

    assert problem("acis").splitlines()[0] == "ACIS: refuses the request: bad loc"


def test_no_network_is_told(server):
    server.close()

    assert problem("nasa-power", waits := []) == (
        "NASA POWER: does not answer\n"
        "  hint: asked 3 times; is there a network here? Everything else works without "
        "one"
    )
    assert len(waits) == services.TRIES - 1


@pytest.mark.parametrize("service", list(ANSWERS))
def test_a_silent_service_is_given_up(server, monkeypatch, service):
    pause = threading.Event()
    monkeypatch.setattr(services, "TIMEOUT_S", 0.05)
    monkeypatch.setattr(services, "TRIES", 1)
    monkeypatch.setattr(
        http.server.BaseHTTPRequestHandler, "send_response",
        lambda *_: pause.wait(5),
    )  # fmt: skip
    server.answers = [(200, ANSWERS[service]())]

    start = time.monotonic()
    assert "does not answer" in problem(service)
    # The server would end the silence after 5 s: only the client's limit is sooner.
    assert time.monotonic() - start < 4
    pause.set()


@pytest.mark.parametrize("service", list(ANSWERS))
def test_an_answer_longer_than_any_file_is_not_read_to_its_end(
    server, monkeypatch, service
):
    monkeypatch.setattr(services, "LARGEST_BYTES", 10_000)
    server.answers = [(200, ANSWERS[service]())]

    assert "answers in a form that this program does not know" in problem(service)
    assert len(server.asked) == 1


def test_an_answer_that_trickles_for_ever_is_given_up(server, monkeypatch):
    monkeypatch.setattr(services, "LONGEST_ANSWER_S", 0.0)
    monkeypatch.setattr(services, "TRIES", 1)
    server.answers = [(200, power())]

    assert "does not answer" in problem("nasa-power")


@pytest.mark.parametrize("service", list(ANSWERS))
def test_an_answer_that_sends_elsewhere_is_not_followed(server, service):
    server.elsewhere = server.url + "elsewhere"
    server.answers = [(302, b""), (200, ANSWERS[service]())]

    assert "answers in a form that this program does not know" in problem(service)
    assert len(server.asked) == 1


@pytest.mark.parametrize("error", [ValueError, KeyError, TypeError, IndexError])
@pytest.mark.parametrize("service", list(ANSWERS))
def test_a_fault_of_ours_is_not_told_as_the_service_s(
    server, monkeypatch, service, error
):
    def faulty(*_, **__):
        raise error("ours")

    name = "days_of_hours" if service == "pvgis" else "DailyWeather"
    monkeypatch.setattr(services, name, faulty)
    server.answers = [(200, ANSWERS[service]())]

    with pytest.raises(error, match="ours"):
        fetched(service)


@pytest.mark.parametrize(
    ("service", "answer"),
    [
        ("nasa-power", power({"T2M_MIN": "K"})),
        ("nasa-power", {"message": "hello"}),
        ("nasa-power", b"<html>moved</html>"),
        ("pvgis", {"outputs": {}}),
        ("pvgis", b"<html>moved</html>"),
        ("acis", {"meta": {}, "data": [["2023-01-01", 1]]}),
        ("acis", []),
    ],
)
def test_a_changed_answer_is_told_and_not_guessed_at(server, service, answer):
    server.answers = [(200, answer)]

    assert (
        problem(service)
        .splitlines()[0]
        .endswith(": answers in a form that this program does not know")
    )


def test_a_place_without_weather_is_told(server):
    server.answers = [(200, acis(-999))]

    assert problem("acis").startswith("ACIS: has no weather for this place and time\n")


@pytest.mark.parametrize(
    ("first", "last", "years"),
    [
        (None, None, (2016, 2025)),
        (2020, None, (2020, 2025)),
        (None, 2009, (2000, 2009)),
    ],
)
def test_the_last_ten_whole_years_are_asked_for(first, last, years):
    request = services.request(38.5, -120.0, first, last, TODAY)

    assert (request.first_year, request.last_year) == years


@pytest.mark.parametrize(("first", "last"), [(2020, 2019), (2020, 2026)])
def test_years_that_cannot_be_are_refused(first, last):
    with pytest.raises(InputError, match=f"{first} to {last} cannot be fetched"):
        services.request(38.5, -120.0, first, last, TODAY)


@pytest.fixture
def bare_site(tmp_path):
    """A site without its climate file."""
    (tmp_path / "site.toml").write_text(
        '[site]\nlatitude = 38.5\nlongitude = -120\n[climate]\nfile = "none.csv"\n'
    )
    return tmp_path


def run(capsys, *arguments):
    status = cli.status([str(argument) for argument in arguments])
    told = capsys.readouterr()
    return status, told.out, told.err


def test_climate_fetches_into_the_site_folder(server, bare_site, capsys):
    server.answers = [(200, power())]
    path = bare_site / "weather_nasa-power.csv"
    arguments = ("climate", bare_site, "--fetch", "nasa-power", "--from", 2023)

    status, out, err = run(capsys, *arguments, "--to", 2024)
    assert (status, err) == (0, "")
    assert out == (
        f"{path}: 731 days written. Credit: NASA POWER project, NASA Langley Research "
        "Center; free to use, credit asked for\n"
        'In site.toml, under [climate], write: file = "weather_nasa-power.csv"\n'
    )
    # What was fetched may be fetched again.
    assert run(capsys, *arguments, "--to", 2024)[0] == 0


def test_climate_writes_nothing_when_the_service_fails(server, bare_site, capsys):
    server.answers = [(200, b"<html>moved</html>")]

    status, out, err = run(capsys, "climate", bare_site, "--fetch", "pvgis")
    assert (status, out) == (2, "")
    assert err.startswith("PVGIS: answers in a form")
    assert [item.name for item in bare_site.iterdir()] == ["site.toml"]


def test_climate_does_not_write_over_a_file_of_one_s_own(server, bare_site, capsys):
    own = bare_site / "weather_acis.csv"
    own.write_text("date,tmin_c,tmax_c\n")

    status, _, err = run(capsys, "climate", bare_site, "--fetch", "acis")
    assert status == 2
    assert "is there already, and was not fetched" in err
    assert own.read_text() == "date,tmin_c,tmax_c\n"
    assert server.asked == []
