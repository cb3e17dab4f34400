"""The look of pictures: contrast, and an `<svg>` that a page can take in."""

import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from scheduler.errors import InputError
from scheduler.report.pictures import look

WEIGHTS = np.array([0.2126, 0.7152, 0.0722])


def linear(color):
    """Linear RGB of an sRGB color (IEC 61966-2-1)."""
    rgb = np.array(to_rgb(color))
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def luminance(color):
    """Relative luminance (WCAG 2.2, definition)."""
    return float(linear(color) @ WEIGHTS)


def contrast(one, other):
    """Contrast ratio (WCAG 2.2, definition)."""
    low, high = sorted([luminance(one), luminance(other)])
    return (high + 0.05) / (low + 0.05)


# WCAG 2.2, 1.4.3: 4.5:1 for text; 1.4.11: 3:1 for what a picture is read by.
def test_letters_and_marks_stand_out_from_the_paper():
    assert contrast("black", "white") == pytest.approx(21)
    for paper in ("white", look.SHADE):
        assert min(contrast(color, paper) for color in (look.INK, look.GREY)) >= 4.5
        assert min(contrast(color, paper) for color in (look.WATER, look.GREY)) >= 3


def test_letters_stand_out_from_the_runs_of_a_night():
    assert contrast("white", look.WATER) >= 4.5
    assert contrast(look.INK, look.OVER) >= 4.5


# Runs that end after closing stand beside runs in time: lightness alone tells them
# apart, on paper without color too.
def test_runs_after_closing_are_told_in_gray():
    assert contrast(look.WATER, look.OVER) >= 3
    assert contrast(look.INK, "white") >= 3


# As people see who lack one kind of cones; matrices for linear RGB: red and green by
# Viénot, Brettel and Mollon 1999, blue by Machado, Oliveira and Fernandes 2009 (all
# from memory).
@pytest.mark.parametrize(
    "matrix",
    [
        [[0.11238, 0.88762, 0], [0.11238, 0.88762, 0], [0.00401, -0.00401, 1]],
        [[0.29275, 0.70725, 0], [0.29275, 0.70725, 0], [-0.02234, 0.02234, 1]],
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
         [0.004733, 0.691367, 0.303900]],
    ],
    ids=["red", "green", "blue"],
)  # fmt: skip
def test_marks_are_told_apart_by_every_kind_of_sight(matrix):
    def seen(color):
        return np.clip(np.array(matrix) @ linear(color), 0, 1) @ WEIGHTS + 0.05

    assert seen(look.OVER) / seen(look.WATER) >= 2.5
    assert seen("white") / seen(look.WATER) >= 3
    assert seen("white") / seen(look.INK) >= 4.5


@pytest.mark.parametrize("name", ["plan.png", "plan.svg", "PLAN.PNG", "a.b.svg"])
def test_check_picture_takes_png_and_svg(name):
    look.check_picture(Path(name))


@pytest.mark.parametrize(
    ("name", "told"), [("plan.pdf", ".pdf"), ("plan", "plan"), ("plan.", "plan.")]
)
def test_check_picture_refuses_other_kinds(name, told):
    with pytest.raises(InputError) as caught:
        look.check_picture(Path(name))

    assert str(caught.value) == (
        f'{name}: --picture: "{told}" is no kind of picture drawn here\n'
        "  accepted: a file name that ends in .png or .svg"
    )


def test_check_picture_refuses_the_file_of_the_text():
    with pytest.raises(InputError, match="is the file of --out too"):
        look.check_picture(Path("a.svg"), Path("./a.svg"))
    look.check_picture(Path("a.svg"), Path("a.txt"))


def width_in(text, size, weight="normal"):
    figure = look.new_figure((3, 2))
    drawn = look.put_text(figure, 0, 0, text, size=size, weight=weight)
    return drawn.get_window_extent().width / figure.dpi


@pytest.mark.parametrize(
    "text",
    ["W" * 200, "lawn " * 40, "草坪" * 60, "שלום " * 40, "حديقة " * 40, "i" * 300],
)
@pytest.mark.parametrize("weight", ["normal", "bold"])
def test_long_text_is_cut_to_its_room_and_no_further(text, weight):
    with look.look():
        kept = look.fitted(text, 1.8, 8, weight)

        # Glyphs on the screen are set on whole pixels of 1/100 in.
        assert 1.8 - 0.2 < width_in(kept, 8, weight) < 1.8 + 0.05
    assert kept.endswith("…")
    assert text.startswith(kept[:-1])


def test_text_that_fits_is_kept():
    with look.look():
        assert look.fitted("Front\nlawn", 1.8, 8) == "Front lawn"
        assert look.fitted("", 1.8, 8) == ""


def test_notes_are_wrapped_and_no_word_is_lost():
    notes = ["one two three " * 20, "four"]
    with look.look():
        lines = look.note_lines(notes, 3.0)

        assert max(width_in(line, 6.5) for line in lines) < 3.0 + 0.05
    assert " ".join(lines).split() == " ".join(notes).split()
    assert lines[-1] == "four"


def inlined(label="label", text="words"):
    with look.look():
        figure = look.new_figure((3, 2))
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.plot([0, 1, 2], [1, 9, 3], marker="o")
        look.put_text(axes, 0.5, 0.5, text)
        return look.inline_svg(figure, label)


def test_inline_svg_is_one_element_that_scales():
    root = ElementTree.fromstring(inlined())

    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    # 3 by 2 inches of 72 points.
    assert root.get("viewBox") == "0 0 216 144"
    assert not {"width", "height"} & set(root.attrib)
    assert root.get("role") == "img"


def test_inline_svg_needs_nothing_from_elsewhere():
    svg = inlined(text="https://example.org -- <script>")

    root = ElementTree.fromstring(svg)
    links = [v for part in root.iter() for v in part.attrib.values() if "://" in v]
    assert not links
    assert 'xmlns="http://www.w3.org/2000/svg"' in svg
    names = {part.tag.rpartition("}")[2] for part in ElementTree.fromstring(svg).iter()}
    assert names <= {"svg", "g", "path", "use", "defs", "clipPath", "rect", "text"}


def test_inline_svg_points_to_its_own_parts_only():
    root = ElementTree.fromstring(inlined())
    ids = [part.get("id") for part in root.iter() if "id" in part.attrib]
    named = [
        name
        for part in root.iter()
        for key, value in part.attrib.items()
        for name in re.findall(r"url\(#([^)]*)\)", value)
        + ([value.removeprefix("#")] if key.endswith("href") else [])
    ]

    assert len(ids) == len(set(ids))
    assert set(named) == set(ids)
    assert any(part.get("clip-path") for part in root.iter())


def test_two_pictures_of_a_page_share_no_id():
    def ids(svg):
        return set(re.findall(r'id="([^"]+)"', svg))

    assert ids(inlined(label="one"))
    assert not ids(inlined(label="one")) & ids(inlined(label="other"))
    assert not ids(inlined(text="one")) & ids(inlined(text="other"))


@pytest.mark.parametrize(
    ("label", "told"),
    [
        ('"><script>alert(1)</script>', '"><script>alert(1)</script>'),
        ("a & b < c ' d", "a & b < c ' d"),
        ("two\nlines\x00\x0b\ud800", "two lines"),
        ("حديقة 草坪", "حديقة 草坪"),
    ],
)
def test_label_is_told_as_it_stands(label, told):
    root = ElementTree.fromstring(inlined(label=label))

    assert root.get("aria-label") == told
