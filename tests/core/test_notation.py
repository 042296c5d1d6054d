"""The laminate notation. The examples are those that textbooks and handbooks of laminates use for the code (Jones, Mechanics of
Composite Materials, section 4.3; CMH-17 volume 2): from memory, and spelt out ply by ply here."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.reasons import BadInput
from layups.core.notation import FABRIC, MAT, UD, Layer, read, write


def angles(text: str) -> list[float]:
    return [layer.angle_md / 1000 for layer in read(text)]


@pytest.mark.parametrize(
    ("text", "plies"),
    [
        ("[0/±45/90]s", [0, 45, -45, 90, 90, -45, 45, 0]),
        ("[0/90]2s", [0, 90, 0, 90, 90, 0, 90, 0]),
        ("[0/90]s2", [0, 90, 90, 0, 0, 90, 90, 0]),
        ("[0/90]2", [0, 90, 0, 90]),
        ("[0/90]T", [0, 90]),
        ("[0/90~]s", [0, 90, 0]),
        ("[0/90\u0305]s", [0, 90, 0]),
        ("[0_2/90]s", [0, 0, 90, 90, 0, 0]),
        ("[0₂/90₁₀]", [0, 0] + [90] * 10),
        ("[∓30]", [-30, 30]),
        ("[±45_2]", [45, -45, 45, -45]),
        ("[(0/90)2/45]", [0, 90, 0, 90, 45]),
        ("[0/60/−60]", [0, 60, -60]),
        (" [ 0 , 22.5 / -90 ] ", [0, 22.5, 90]),
        ("0/90", [0, 90]),
        ("[0]8", [0] * 8),
    ],
)
def test_the_usual_forms_are_read_ply_by_ply(text: str, plies: list[float]) -> None:
    assert angles(text) == plies


def test_a_fabric_is_one_ply_and_a_material_holds_for_its_group() -> None:
    assert read("[(±45)f:PP-T/0_2:PP-U]") == [Layer(45_000, FABRIC, "PP-T"), *[Layer(0, UD, "PP-U")] * 2]
    assert read("[(0/90)f]s") == [Layer(0, FABRIC)] * 2
    assert read("[(0:A/90):B]") == [Layer(0, UD, "A"), Layer(90_000, UD, "B")]
    assert read("[mat:CSM/0]s") == [Layer(0, MAT, "CSM"), Layer(0), Layer(0), Layer(0, MAT, "CSM")]


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        ("", "layup.empty", None),
        ("[]", "layup.unreadable", 2),
        ("[0/90", "layup.unreadable", 6),
        ("[0//90]", "layup.unreadable", 4),
        ("[0/90]x", "layup.unreadable", 7),
        ("[0/90]s s", "layup.unreadable", 9),
        ("[0/90]2 3", "layup.unreadable", 9),
        ("[0/90]0", "layup.unreadable", 8),
        ("[0_]", "layup.unreadable", 4),
        ("[0 90]", "layup.unreadable", 4),
        ("[0/(90]", "layup.unreadable", 7),
        ("[0~/90]s", "layup.unreadable", 4),
        ("[±45~]s", "layup.unreadable", 6),
        ("[(0~)]s", "layup.unreadable", 5),
        ("[0/95]", "layup.angle", 4),
        ("[0/45/nan]", "layup.unreadable", 7),
        ("[(0/45)f]", "layup.fabric", 9),
        ("[(0)f]", "layup.fabric", 6),
        ("[(mat/0)f]", "layup.fabric", 10),
        ("[ma/0]", "layup.unreadable", 2),
        ("[0/90~]", "layup.middle", None),
        ("[0_9999]s", "layup.too_many", None),
        ("[(((0_100)100)100)100]", "layup.too_many", None),
        ("[" + "0/" * 2000 + "0]", "layup.too_long", None),
        ("[0/90]²", "layup.unreadable", 7),
    ],
)
def test_what_cannot_be_read_is_told_with_its_place(text: str, code: str, at: int | None) -> None:
    with pytest.raises(BadInput) as refused:
        read(text)
    assert refused.value.reason.code == code, refused.value.reason.text
    if at is not None:
        assert refused.value.reason.numbers["at"] == at, refused.value.reason.text


@pytest.mark.parametrize(
    "text",
    [
        "[0/±45/90]s",
        "[0/90]2s",
        "[0/90~]s",
        "[0_8]",
        "[±45]2",
        "[(±45)f:PP-T/0_2:PP-U]s",
        "[0/(0/90)f~]s",
        "[0/45_2/30~]s",
        "[∓30/22.5]",
        "[mat_2/0:A]s",
        "[(±45)f/core:FOAM~]s",
    ],
)
def test_the_shortest_form_is_written(text: str) -> None:
    assert write(read(text)) == text


LAYERS = st.builds(
    Layer,
    st.sampled_from([0, 90_000, 45_000, -45_000, 30_000, -30_000, 22_500, -60_001]),
    st.sampled_from([UD, UD, FABRIC]),
    st.sampled_from(["", "", "PP-U", "A.1"]),
)


@settings(max_examples=400, deadline=None)
@given(
    st.lists(LAYERS | st.builds(Layer, st.just(0), st.just(MAT)), min_size=1, max_size=9),
    st.integers(1, 3),
    st.sampled_from(["", "s", "m"]),
)
def test_what_is_written_is_read_as_the_same_plies(half: list[Layer], times: int, mirror: str) -> None:
    layers = half * times
    layers = layers + layers[::-1][1 if mirror == "m" else 0 :] if mirror else layers
    assert read(write(layers)) == layers


@settings(max_examples=400, deadline=None)
@given(st.text(alphabet="mat[]()/,0459±∓-_~sTf:A 2.\u0305₂", max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        layers = read(text)
    except BadInput as bad:
        assert bad.reason.code.startswith("layup.")
    else:
        assert read(write(layers)) == layers
