"""The notebook through the bindings that a phone's shell uses: rows, an act, a refusal, a stale tap, a broken shell."""

import os
import time

import pytest

SEED = bytes(range(32))


@pytest.fixture
def outside(border):
    """This machine's clock and randomness."""

    class Machine(border.Outside):
        def now(self):
            return border.Wall(utc_ms=int(time.time() * 1000), offset_min=60)

        def random(self):
            return os.urandom(16)

    return Machine()


@pytest.fixture
def notebook(border, outside, tmp_path):
    """An empty notebook."""
    return border.Notebook.open(str(tmp_path), SEED, outside)


def deeds(screen):
    """The main deed and the others of a screen."""
    body = next(row.body for row in screen.rows if row.body.is_DEEDS())
    return [pick for pick in [body.main, *body.others] if pick]


def send(border, notebook, screen, token, text=None):
    return notebook.send(border.Sent(token=token, input=text, drawn=screen.drawn))


def new_site(border, notebook, name="Lantern Lane"):
    """Presses what the list of sites offers, and types a name."""
    screen = notebook.screen("")
    asking = next(pick for pick in deeds(screen) if pick.asks)
    assert asking.asks.label and not asking.asks.file
    return send(border, notebook, screen, asking.token, name)


def test_a_site_is_noted_and_found_again(border, notebook, outside, tmp_path):
    new_site(border, notebook)
    again = border.Notebook.open(str(tmp_path), SEED, outside).screen("")
    items = [row for row in again.rows if row.body.is_ITEM()]
    assert [row.body.title for row in items] == ["Lantern Lane"]
    # A row that leads on leads to a screen.
    site = send(border, notebook, again, items[0].go)
    assert site.address != again.address and site.drawn > 0


def test_wrong_input_is_refused_with_a_sentence_and_nothing_changes(border, notebook):
    screen = notebook.screen("")
    for token, text in [("", None), ('"', None), ("no such deed", None), ("site name=?", None), ("site name=?", "  ")]:
        with pytest.raises(border.Refusal.Input) as told:
            send(border, notebook, screen, token, text)
        assert len(str(told.value)) > 20 and str(told.value).rstrip().endswith((".", "?"))
    with pytest.raises(border.Refusal.Input):
        notebook.screen("nowhere")
    assert notebook.screen("").rows == screen.rows


def test_a_second_tap_notes_nothing_and_a_stale_one_is_refused(border, notebook):
    site = new_site(border, notebook)
    first = send(border, notebook, site, 'person name="W. Tolliver"')
    assert first.drawn > site.drawn
    # The same press again, as seen before: a bounce of the thumb.
    assert send(border, notebook, site, 'person name="W. Tolliver"').drawn == first.drawn
    # Another press on what is no longer shown.
    with pytest.raises(border.Refusal.Input):
        send(border, notebook, site, 'person name="A. Reeve"')
    assert notebook.screen(first.address).drawn == first.drawn


def test_a_key_of_the_wrong_length_opens_nothing(border, outside, tmp_path):
    for seed in [b"", SEED[:31], SEED + b"x"]:
        with pytest.raises(border.Refusal.Storage):
            border.Notebook.open(str(tmp_path / "none"), seed, outside)
    assert not (tmp_path / "none").exists()


def test_a_shell_without_clock_or_randomness_is_refused_at_once(border, tmp_path):
    class Broken(border.Outside):
        def now(self):
            raise RuntimeError("no clock")

        def random(self):
            return os.urandom(16)

    class Short(border.Outside):
        def now(self):
            return border.Wall(utc_ms=0, offset_min=0)

        def random(self):
            return b"\0" * 15

    for outside in [Broken(), Short()]:
        with pytest.raises(border.Refusal.Storage):
            border.Notebook.open(str(tmp_path), SEED, outside)


def test_a_panic_arrives_as_a_refusal_and_ends_nothing(border, tmp_path):
    """A shell whose randomness fails later makes the core give up in the middle of an act."""

    class Failing(border.Outside):
        dry = False

        def now(self):
            return border.Wall(utc_ms=int(time.time() * 1000), offset_min=0)

        def random(self):
            return b"" if self.dry else os.urandom(16)

    outside = Failing()
    notebook = border.Notebook.open(str(tmp_path), SEED, outside)
    outside.dry = True
    with pytest.raises(border.Refusal.Storage) as told:
        new_site(border, notebook)
    assert "kept" in str(told.value)
    outside.dry = False
    new_site(border, notebook)
    assert len([row for row in notebook.screen("").rows if row.body.is_ITEM()]) == 1


def test_what_is_not_ours_is_left_as_it_is(border, outside, tmp_path):
    stranger = tmp_path / "stranger"
    stranger.write_text("this is no folder")
    with pytest.raises((border.Refusal.NotOurs, border.Refusal.Storage)):
        border.Notebook.open(str(stranger), SEED, outside)
    assert stranger.read_text() == "this is no folder"
