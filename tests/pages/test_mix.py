"""Mixing: two scans and the scale, a refusal that says how to mend it, and the pot with its time."""

from __future__ import annotations

import pytest

from inventory.models import Act, Item, Refusal
from inventory.verbs import mixing

from .browsing import Browser, Clock, Page
from .store import Store


def mix(browser: Browser, *parts: tuple[str, str], **more: str) -> Page:
    form: dict[str, str] = {"place": "BAY1", "temperature": "21.0", "mark": "M-1", "n": str(max(2, len(parts)))}
    for i, (code, mass) in enumerate(parts):
        form |= {f"code{i}": code, f"mass{i}": mass, f"step{i}": ""}
    return browser.post("/mix/", {**form, **more})


@pytest.mark.parametrize("who", ["Bram", "Ines", "Odile", "Marek", "Vera"])
@pytest.mark.parametrize("path", ["/mix/", "/mix/?recipe=LAM", "/mix/?recipe=nothing", "/mix/?recipe=%00", "/mix/?c=LA-7"])
def test_the_page_is_there_with_one_heading_and_the_caution(yard: Store, clock: Clock, who: str, path: str) -> None:
    page = Browser(yard, who).get(path)
    assert page.status == 200 and page.headings == 1
    assert "safety data sheet, gloves, ventilation" in page.text and "the supplier's data decide" in page.text


def test_a_recipe_says_its_limits_and_offers_the_can_that_is_open(yard: Store, bram: Browser) -> None:
    page = bram.get("/mix/?recipe=LAM")
    assert "25 per 100 (24 to 26)" in page.text and "25 min for 500.0 g at 25.0 °C (data sheet)" in page.text
    assert "Use LA-7, 12.40 kg, in Resin store" in page.text and "Use LB-5, 3.10 kg" in page.text


def test_two_scans_and_the_scale_ask_for_what_is_missing_one_after_the_other(yard: Store, bram: Browser) -> None:
    """Each Enter of the scanner or the scale sends the page round; nothing is recorded until all is there."""
    before = Act.objects.count()
    steps = [
        ({"code0": "LA-7"}, "mass0"),
        ({"code0": "LA-7", "mass0": "400.0"}, "code1"),
        ({"code0": "LA-7", "mass0": "400.0", "code1": "LB-5"}, "mass3"),
    ]
    for said, focus in steps:
        page = bram.post("/mix/", {"place": "BAY1", "n": "2", **said})
        assert page.status == 200 and page.reasons == [] and Act.objects.count() == before
        assert [line for line in page.source.splitlines() if "autofocus" in line and f'id="{focus}"' in line], focus
    assert "Mix LAM" in page.text, "resin and hardener name the recipe"


def test_off_ratio_is_refused_with_the_mend_and_then_mixed(yard: Store, clock: Clock, bram: Browser) -> None:
    clock(0, "10:00")
    before = Act.objects.count()
    refused = mix(bram, ("LA-7", "400.0 g"), ("LB-5", "92.0 g"))
    assert refused.status == 409 and refused.reasons == ["mix.ratio_low"]
    assert "23.0" in refused.text and "24.0–26.0" in refused.text and "add 8.0 g hardener" in refused.text
    assert Act.objects.count() == before and Refusal.objects.count() == 1
    assert 'value="92.0 g"' in refused.source
    pot = mix(bram, ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    assert "Mix M-1" in pot.text and "500.2 g" in pot.text and "25.05 per 100" in pot.text
    assert "Estimate 33 min to 34 min, counted from 10:00" in pot.text and "stop by 10:33" in pot.text
    assert "An estimate: the supplier's data and your own gel cups decide" in pot.text
    assert 'data-stop-us="' in pot.source and 'role="timer"' in pot.source
    assert "Scrap what is left" in pot.text


def test_a_pot_past_its_stop_says_so_and_what_is_left_is_scrapped_with_the_caution(yard: Store, clock: Clock, bram: Browser) -> None:
    clock(0, "10:00")
    mix(bram, ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    yard.do(yard.at(0, "10:20"), "Bram", "use", mixing_use("320.2 g"))
    clock(0, "10:40")
    pot = bram.scan("M-1")
    assert "M-1 may not be used now" in pot.text and "10:33" in pot.text and "Stop: pot life over" in pot.text
    form = bram.get(f"{pot.path}leftover/")
    assert "It may be hot: leave it in an open container, outside" in form.text and "data-confirm-more" in form.source
    done = bram.post(f"{pot.path}leftover/", {"cause": "left over in the pot"})
    assert "180.0 g of M-1 scrapped" in done.text and "scrapped" in done.text


def mixing_use(quantity: str) -> object:
    from inventory.verbs.counting import UseOtherwise

    return UseOtherwise("M-1", quantity, "panel")


def test_cold_bay_and_too_little_peroxide_are_told_at_once_and_a_gross_overdose_may_nobody(
    yard: Store, clock: Clock, bram: Browser
) -> None:
    clock(0, "11:00")
    yard.do(clock.now, "Bram", "measure", mixing.Measure("BAY1", "17.2"))
    assert "BAY1 Wet layup bay – 17.2 °C measured" in bram.get("/mix/").text
    cold = mix(bram, ("PE-8", "2000 g"), ("X4", "14 g"), temperature="")
    assert cold.status == 409 and {"mix.ratio_low", "mix.too_cold"} <= set(cold.reasons)
    gross = mix(bram, ("PE-8", "2000 g"), ("X4", "300 g"), temperature="18.6")
    assert gross.status == 409 and "Nobody may override this" in gross.text
    coarse = mix(bram, ("PE-8", "2000 g"), ("X4", "30.0 g"), temperature="18.6", step1="1 g")
    assert coarse.reasons == ["mix.scale_too_coarse"]
    done = mix(bram, ("PE-8", "2000 g"), ("X4", "30.0 g"), temperature="18.6", step1="0.1 g")
    assert done.status == 200 and Item.objects.filter(kind="mix").count() == 1


def test_a_label_nobody_knows_is_said_at_its_row_and_keeps_the_rest(bram: Browser) -> None:
    page = mix(bram, ("LA-7", "400 g"), ("<b>zzz</b>", "100 g"))
    assert page.status == 200 and "Nothing here has the label" in page.text
    assert "<b>zzz" not in page.source and 'value="400 g"' in page.source
    assert Item.objects.filter(kind="mix").count() == 0


def test_a_mass_that_cannot_be_read_and_the_same_can_twice_are_told(bram: Browser) -> None:
    assert mix(bram, ("LA-7", "much"), ("LB-5", "100 g")).status == 422
    assert mix(bram, ("LA-7", "400 g"), ("LA-7", "100 g")).status == 422
    assert mix(bram, ("LA-7", "-400 g"), ("LB-5", "100 g")).status == 422


def test_the_same_press_twice_is_one_pot_and_names_count_on(yard: Store, clock: Clock, bram: Browser) -> None:
    key = "0b0f1f5e-8c1e-4f0a-9a55-5e1fed6e0010"
    for _ in range(2):
        assert mix(bram, ("LA-7", "400.0 g"), ("LB-5", "100.2 g"), key=key).status == 200
    assert Item.objects.filter(kind="mix").count() == 1
    assert 'value="M-2"' in bram.get("/mix/").source


def test_an_owner_and_an_auditor_may_look_but_not_mix(yard: Store, clock: Clock) -> None:
    page = mix(Browser(yard, "Vera"), ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    assert page.status == 403 and page.reasons == ["role.not_allowed"]


def test_one_more_component_gives_rows_and_records_nothing(bram: Browser) -> None:
    page = mix(bram, ("LA-7", "400.0 g"), ("LB-5", "100.2 g"), more="1")
    assert page.status == 200 and 'name="code3"' in page.source and Item.objects.filter(kind="mix").count() == 0
    assert "SIL, if any" in page.text and "MB, if any" in page.text
    empty = {f"{name}{i}": "" for i in (2, 3) for name in ("code", "mass", "step")}
    assert mix(bram, ("LA-7", "400.0 g"), ("LB-5", "100.2 g"), n="4", **empty).path.startswith("/i/"), "empty rows are no components"


def test_the_page_asks_as_much_for_thirty_cans_as_for_three(yard: Store, clock: Clock, bram: Browser) -> None:
    bram.get("/mix/?recipe=LAM")
    few = bram.queries("/mix/?recipe=LAM")
    for n in range(30):
        yard.stock(f"LA-9{n}", "LAM-A", 10**10, "RS", yard.at(-2, "10:00", n), "can", lot=f"LA9{n}")
    bram.get("/mix/?recipe=LAM")
    assert bram.queries("/mix/?recipe=LAM") == few


# --- look before mixing ---------------------------------------------------------------------------


def look(browser: Browser, recipe: str, *masses: str, **more: str) -> Page:
    form = {"recipe": recipe, "place": "BAY1", "temperature": "21.0", "n": "4", "look": "1"}
    for i, mass in enumerate(masses):
        form |= {f"code{i}": "", f"mass{i}": mass, f"step{i}": ""}
    return browser.post("/mix/", {**form, **more})


def test_masses_vessel_and_room_show_window_curve_and_caution_before_anything_is_recorded(yard: Store, clock: Clock, bram: Browser) -> None:
    before = Act.objects.count(), Refusal.objects.count()
    page = look(bram, "INF", "1000 g", "300 g", vessel="cup", size="12 cm")
    assert page.status == 200 and page.headings == 1 and (Act.objects.count(), Refusal.objects.count()) == before
    assert "Nothing has been recorded" in page.text and "1 h 3" in page.text
    for clock_name in ("Pot life", "Gel", "Open time on the laminate", "Peak temperature"):
        assert f"<dt>{clock_name}</dt>" in page.source
    assert "Will smoke: up to" in page.text and "before mixing" in page.text
    for way in ("one cup", "2 cups", "4 cups", "tray, 20 × 30 cm"):
        assert f">{way}</th>" in page.source
    assert page.source.count('<svg class="chart"') == 2 and "minutes after first mixing" in page.source
    assert "The first pot's curve as a table" in page.text and "Kinetics version 1" in page.text
    assert 'value="1000 g"' in page.source and 'value="12 cm"' in page.source, "what was typed stands for the mix itself"


def test_without_kinetics_no_peak_is_told_and_why(bram: Browser) -> None:
    page = look(bram, "LAM", "400 g", "", "", "100 g")
    assert "33 min to 34 min" in page.text and "nobody has entered kinetics" in page.text
    assert "<svg" not in page.source.split('class="slip look"')[1].split("</section>")[0]
    assert "Over the test mass" not in page.text
    large = look(bram, "LAM", "2000 g")
    assert "Over the test mass" in large.text, "half a kilogram was tested, 2.5 kg are mixed"


def test_a_peroxide_system_is_only_interpolated_and_outside_its_points_nobody_can_tell(bram: Browser) -> None:
    inside = look(bram, "PE", "2000 g", temperature="18.0")
    assert "gel points, interpolated" in inside.text and "a peroxide system has no rate law here" in inside.text
    cold = look(bram, "PE", "2000 g", temperature="15.0")
    assert "no point as cold" in cold.text and "not known" in cold.text


@pytest.mark.parametrize(
    ("masses", "more", "said"),
    [
        (("",), {}, "Type the mass of INF-A first"),
        (("much",), {}, "number"),
        (("1e9 g",), {}, "Write it out in full"),
        (("9" * 30,), {}, ""),
        (("-5 g",), {}, ""),
        (("1000 g",), {"temperature": ""}, "Measure the temperature at the bench"),
        (("1000 g",), {"temperature": "2000"}, "not a temperature at which resin is mixed"),
        (("1000 g",), {"temperature": "warm"}, ""),
        (("1000 g",), {"vessel": "cup", "size": "9 kg"}, "is no unit of length"),
        (("1000 g",), {"vessel": "cup"}, "Say its size"),
        (("1000 g",), {"size": "<script>alert(1)</script>"}, "Say how it stands"),
        (("1000 g",), {"vessel": "bucket", "size": "1"}, ""),
        (("1000 g",), {"place": "<b>"}, ""),
    ],
)
def test_what_cannot_be_looked_at_is_said_and_never_a_fault(
    bram: Browser, masses: tuple[str, ...], more: dict[str, str], said: str
) -> None:
    page = look(bram, "INF", *masses, **more)
    assert page.status == 422 and said in page.text and "<script>alert" not in page.source
    assert "Before you mix" not in page.text and "nan" not in page.text.lower().split()


def test_a_recorded_pot_shows_how_it_stands_its_method_and_the_gels_it_rests_on(yard: Store, clock: Clock, bram: Browser) -> None:
    at = yard.at(-30, "10:00")
    for n, (mark, material) in enumerate((("IA-1", "INF-A"), ("IB-1", "INF-B"))):
        yard.stock(mark, material, 50 * 10**9, "RS", at + n, "can")
    clock(0, "10:00")
    mix(bram, ("IA-1", "1000 g"), ("IB-1", "300 g"), vessel="cup", size="12 cm")
    yard.do(yard.at(0, "12:50"), "Bram", "gel", mixing.GelSeen("M-1"))
    clock(0, "13:00")
    pot = mix(bram, ("IA-1", "1000 g"), ("IB-1", "300 g"), mark="M-2", vessel="cup", size="12 cm")
    gel = Act.objects.get(kind="gel").pk
    assert "cup, 120 mm across" in pot.text and "taught by 1 own gel" in pot.text
    assert f'href="/records/{gel}/"' in pot.source and "Will smoke" in pot.text
    assert pot.source.index("Take care") < pot.source.index("Will smoke") < pot.source.index('class="verdict-word"'), "before any yes"


def test_a_record_from_before_cautions_were_kept_still_shows_them(yard: Store) -> None:
    from inventory.models import Edge, Recipe
    from inventory.pages.potfacts import _cautions, window_words

    recipe, poured = Recipe.objects.get(code="LAM"), [Edge(qty=2_000 * 10**6), Edge(qty=500 * 10**6)]
    old = {"temp_mc": 21_000, "ratio_ppm": 250_000, "low_us": 33 * 60_000_000, "high_us": 34 * 60_000_000}
    assert any("Over the test mass" in text for text in _cautions(recipe, old, poured))
    assert _cautions(recipe, old | {"cautions": ["as recorded"]}, poured) == ("as recorded",)
    assert window_words(old) == "33 min to 34 min"
