"""What tests of pictures share, and the examples."""

import itertools

import pytest
from matplotlib.text import Text


@pytest.fixture(scope="session")
def check_texts():
    """Texts of a figure lie on its paper, and none over another."""

    def check(figure):
        texts = [text for text in figure.findobj(Text) if text.get_text()]
        boxes = [(text.get_window_extent(), text.get_text()) for text in texts]
        for box, text in boxes:
            assert 0 <= box.x0 < box.x1 <= figure.bbox.width, text
            assert 0 <= box.y0 < box.y1 <= figure.bbox.height, text
        for (one, text), (other, over) in itertools.combinations(boxes, 2):
            assert not one.overlaps(other), (text, over)

    return check


@pytest.fixture(params=["home", "southern_garden", "business_park"])
def example(request) -> str:
    return request.param
