"""The stroke alphabet."""

import itertools
import math

from toolpaths.geometry.segment import Arc
from toolpaths.lettering import CAPITAL, DESCENDER, KNOWN, glyph, lacking, letter, strokes, width, written

PRINTABLE = {chr(code) for code in range(32, 127)}


def test_the_alphabet_is_whole():
    """Every printable ASCII character and the drawing signs have a glyph of their own."""
    assert PRINTABLE | set("Ø×°±") <= KNOWN
    assert all(glyph(character)[1] for character in KNOWN - {" "})


def test_glyphs_stay_in_their_box():
    """No stroke leaves its glyph's width or the height between descender and capital, and each uses its whole width."""
    for character in KNOWN - {" "}:
        glyph_width, strokes = glyph(character)
        xs, ys = zip(*itertools.chain(*strokes), strict=True)
        assert min(ys) >= -DESCENDER and max(ys) <= CAPITAL, character
        assert min(xs) >= -1e-9 and max(xs) <= glyph_width + 1e-9, character
        if character != "_":
            assert max(xs) - min(xs) > 0.7 * glyph_width - 1e-9, character


def test_no_two_glyphs_are_alike():
    """Two characters never look the same, wherever they stand: not even 0 and O, or 1, l and I."""
    drawn = {character: frozenset(_inked(glyph(character)[1])) for character in KNOWN}
    assert len(set(drawn.values())) == len(KNOWN)


def _inked(strokes):
    """The grid cells of half a unit that the strokes pass: what the eye sees, whatever the order of the points."""
    for stroke in strokes:
        for (ax, ay), (bx, by) in itertools.pairwise(stroke):
            for step in range(41):
                yield round(2 * (ax + (bx - ax) * step / 40)), round(2 * (ay + (by - ay) * step / 40))


def test_unknown_characters_draw_a_box():
    """A character without a glyph is a crossed box, never nothing."""
    assert glyph("ж") == glyph("\u0007")
    assert glyph("ж")[1] and glyph("ж") not in [glyph(known) for known in KNOWN]


def test_lettering_has_the_height_and_width_it_says():
    """Capitals are as high as asked, and the text is as wide as ``width`` says, at every place and angle."""
    flat = [point for line in letter("HAMMER", (10, 20), 3.5) for point in line.points]
    assert math.isclose(max(y for _, y in flat) - min(y for _, y in flat), 3.5)
    assert math.isclose(max(x for x, _ in flat) - min(x for x, _ in flat), width("HAMMER", 3.5))
    assert min(flat) == (10, 20)
    upright = [point for line in letter("HAMMER", (10, 20), 3.5, "centre", math.pi / 2) for point in line.points]
    ys = [y for _, y in upright]
    assert math.isclose(min(ys) + max(ys), 40)
    assert math.isclose(max(ys) - min(ys), width("HAMMER", 3.5))
    right = [x for line in letter("HAMMER", (10, 20), 3.5, "right") for x, _ in line.points]
    assert math.isclose(max(right), 10)


def test_rounded_corners_are_circles():
    """The round of a degree sign is a circle: every point lies 1.5 units from its middle."""
    (stroke,) = glyph("°")[1]
    assert all(abs(math.dist(point, (1.5, 8.5)) - 1.5) < 1e-3 for point in stroke)


def test_accents_stand_over_their_letters():
    """A letter with an accent is that letter with something above its top or below its line, as wide as before."""
    for character, base in (("ä", "a"), ("Ö", "O"), ("é", "e"), ("ñ", "n"), ("Å", "A"), ("č", "c"), ("ç", "c")):
        plain_width, plain_strokes = glyph(base)
        width_, strokes = glyph(character)
        assert width_ == plain_width and strokes[: len(plain_strokes)] == plain_strokes
        added = [y for stroke in strokes[len(plain_strokes) :] for _, y in stroke]
        top = max(y for stroke in plain_strokes for _, y in stroke)
        assert min(added) > top or max(added) <= 0, character
    assert len(glyph("ï")[1]) == 3  # the dot gives way to the two of the diaeresis


def test_what_the_alphabet_lacks_is_written_in_letters_that_it_has():
    """Ligatures, signs and typographers' quotes come out in plain letters; what has no other form stays a box."""
    assert written("\u201cœ\u201d \u2014 1\u00bd\u20ac") == '"oe" \u2013 1 1/2EUR'
    assert width("œ", 3.5) == width("oe", 3.5)
    assert lacking("漢") and not lacking("Größe")


def test_exact_strokes_are_the_same_letters():
    """Arcs in place of chords, stroke by stroke: the points of each drawn stroke lie on the exact one, end to end."""
    for character in sorted(KNOWN) + list("éöÅçů"):
        drawn, exact = letter(character, (3, 4), 10, angle=0.3), strokes(character, (3, 4), 10, angle=0.3)
        assert len(drawn) == len(exact)
        for line, chain in zip(drawn, exact, strict=True):
            assert math.dist(line.points[0], chain[0].start) < 1e-3
            assert math.dist(line.points[-1], chain[-1].end) < 1e-3
            assert all(math.dist(one.end, two.start) == 0 for one, two in itertools.pairwise(chain))
            for point in line.points:
                assert min(_off(piece, point) for piece in chain) < 1e-3, character


def _off(piece, point):
    if isinstance(piece, Arc):
        return abs(math.dist(point, piece.centre) - piece.radius)
    steps = (piece.point_at(piece.length * step / 2000) for step in range(2001))
    return min(math.dist(point, place) for place in steps)


def test_signs_of_electrical_units_are_there():
    """Ohm and micro, from whichever of their two code points, are letters of the alphabet."""
    assert not lacking("10 kΩ 4.7 µF")
    assert written("\u2126\u03bc") == "\u03a9\u00b5"
