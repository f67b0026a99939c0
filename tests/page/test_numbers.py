"""Every number on the page is that of the command for the same input."""

import json
import random
import re

import pytest

from pretreat.core.results import to_json
from pretreat.page.slide import ALONG, kept_at, slid
from pretreat.public import rate, size
from tests.page.conftest import ANALYSES, SITES, alike, form_of

HALF_A_DIGIT = 0.5000001


def _close(text: str, value: float) -> bool:
    """Tell whether a number as shown is the value, rounded to the digits shown."""
    number = text.replace(",", "")
    if "e" in number:
        return float(number) == pytest.approx(value, rel=6e-3)
    places = len(number.partition(".")[2])
    return abs(float(number) - value) <= HALF_A_DIGIT * 10.0**-places


def _agree(body):
    study, seen = body["study"], body["seen"]
    assert set(seen["figures"]) == set(study["figures"])
    for key, figure in study["figures"].items():
        shown = seen["figures"][key]
        if isinstance(figure["value"], int | float):
            assert _close(shown["text"], figure["value"]), (key, shown, figure["value"])
            assert shown["unit"] == figure["unit"].replace("-", "", figure["unit"] == "-")
        elif isinstance(figure["value"], str):
            assert shown["text"] == figure["value"]
    for key, series in study["series"].items():
        for printed, row in zip(seen["series"][key]["rows"], series["rows"], strict=True):
            for text, value in zip(printed, row, strict=True):
                if isinstance(value, int | float) and not isinstance(value, bool):
                    assert _close(text, value), (key, text, value)


@pytest.mark.parametrize("site", SITES)
def test_the_demo_sites(client, site):
    job, run = ("rate", rate) if site.endswith("installed") else ("size", size)
    answer = client.post(f"/page/view_{job}", **form_of(site))
    assert answer.status_code == 200, answer.text
    body = answer.json()
    assert alike(body["study"], json.loads(to_json(run(ANALYSES / f"{site}.toml"))))
    _agree(body)


def _random_site(chance: random.Random) -> tuple[str, dict]:
    name = chance.choice(SITES[:3])
    form = form_of(name)
    text = form["data"]["site"]
    for key, value in (
        ("recovery", f"{chance.uniform(0.4, 0.8):.3f}"),
        ("hours_per_day", f"{chance.uniform(4, 22):.1f}"),
        ("product_flow", f'"{chance.uniform(0.4, 6):.2f} m3/h"'),
    ):
        text = re.sub(rf"^{key} = \S.*$", f"{key} = {value}", text, flags=re.M)
    text = re.sub(r"^(recovery_range|regenerate_every_days) = .*$", "", text, flags=re.M)
    form["data"] = {"site": text, "draws": "64"}
    return text, form


def _as_the_whole_run(short, whole):
    """Every figure and table of a slider is that of the whole run."""
    for key, figure in short.figures.items():
        assert alike(figure.value, whole.value(key)), key
    for key in ("scaling.sweep", "scaling.limits"):
        assert short.series[key].columns == whole.series[key].columns
        rows = short.series[key].rows, whole.series[key].rows
        for one, other in zip(*rows, strict=True):
            assert alike(list(one), list(other)), key


EACH_TIME, RANDOM_SITES = 2, 30  # the others with the thorough run


@pytest.mark.parametrize(
    "seed",
    [
        seed if seed < EACH_TIME else pytest.param(seed, marks=pytest.mark.thorough)
        for seed in range(RANDOM_SITES)
    ],
)
def test_random_sites(client, tmp_path, seed):
    text, form = _random_site(random.Random(seed))
    path = tmp_path / "site.toml"
    path.write_text(text, "utf-8")
    name, content = form["files"][0][1]
    (tmp_path / name).write_bytes(content)
    answer = client.post("/page/view_size", **form)
    assert answer.status_code == 200, answer.text
    body = answer.json()
    whole = size(path, draws=64)
    assert alike(body["study"], json.loads(to_json(whole)))
    _agree(body)
    _as_the_whole_run(slid(path, "size", str(whole.value("train.chosen")).split(" + ")), whole)


@pytest.mark.parametrize("site", SITES)
def test_what_a_slider_moves_is_that_of_the_whole_run(site):
    mode, run = ("rate", rate) if site.endswith("installed") else ("size", size)
    whole = run(ANALYSES / f"{site}.toml", draws=64)
    chosen = str(whole.value("train.chosen") or "")
    short = slid(ANALYSES / f"{site}.toml", mode, chosen.split(" + ") if chosen else ())
    assert {"recovery.max", "machine.feed_flow_m3_h", "concentrate.recovery"} <= set(short.figures)
    _as_the_whole_run(short, whole)
    along = short.series["scaling.along"]
    at = along.column("recovery").index(round(whole["machine.recovery"].value, 2))
    scale, now = along.column("scale")[at], along.column("now")[at]
    limits = whole.series["scaling.limits"]
    assert now == pytest.approx(limits.column("now")[limits.column("scale").index(scale)], rel=1e-6)


def test_the_share_of_draws_is_read_from_the_limits_drawn(tmp_path):
    """Read at another recovery, it is that of the site run at that recovery, its train held."""
    site = ANALYSES / "quarrow_vale.toml"
    whole = size(site, draws=256)
    read = dict(kept_at(whole, "si"))
    assert list(read) == list(ALONG)
    shares = [float(share) for share in read.values()]
    assert shares == sorted(shares, reverse=True)
    stages = str(whole["train.chosen"].value).split(" + ")
    text = site.read_text("utf-8").replace("recovery = 0.65", "recovery = 0.73")
    other = tmp_path / "site.toml"
    other.write_text(f"{text}\n[train]\nstages = {json.dumps(stages)}\n")
    name = form_of("quarrow_vale")["files"][0][1][0]
    (tmp_path / name).write_bytes((ANALYSES / name).read_bytes())
    again = size(other, draws=256)["verdict.probability"].value
    assert 0.1 < again < 0.9
    assert float(read[0.73]) == pytest.approx(again, abs=0.005)


def test_a_moved_slider_is_a_changed_site_file(client, tmp_path):
    form = form_of("quarrow_vale")
    changes = {"machine.recovery": "0.7", "water.operating_temperature": "59"}
    form["data"] |= {"changes": json.dumps(changes), "units": "us"}
    body = client.post("/page/view_curve", **form).json()
    text = form["data"]["site"].replace("recovery = 0.65", "recovery = 0.7")
    path = tmp_path / "site.toml"
    path.write_text(text.replace("operating_temperature_c = 15", "operating_temperature = '59 °F'"))
    (tmp_path / form["files"][0][1][0]).write_bytes(form["files"][0][1][1])
    assert alike(body["study"], json.loads(to_json(slid(path, "size"))))


def test_texts_of_a_study_in_other_units(client):
    study = client.post("/api/check", files=_well()).content
    us = client.post("/page/texts?units=us", content=study).json()
    assert us["figures"]["water.temperature_c"]["unit"] == "°F"
    assert us["figures"]["water.hardness_mg_l_caco3"]["unit"] == "gpg as CaCO3"


def _well():
    name = "quarrow_vale_well_2.csv"
    return {"report": (name, (ANALYSES / name).read_bytes())}
