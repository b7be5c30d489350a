"""How findings about a program say figures: in the units of its text, for whoever has that text before him."""

from __future__ import annotations

from dataclasses import dataclass

from toolpaths.units import INCH, Units, fixed, inch_words, plain, told_apart


@dataclass(frozen=True, slots=True)
class Telling:
    """Words for figures in mm about a program whose text is in these ``units``; of inches the mm stand in brackets."""

    units: Units

    def length(self, length: float) -> str:
        """A length: three decimals of a mm at most.

        >>> Telling("mm").length(3.14159), Telling("in").length(6.35), Telling("in").length(0.02)
        ('3.142 mm', '1/4 in (6.35 mm)', '0.00079 in (0.02 mm)')
        """
        text = f"{plain(length)} mm"
        return f"{inch_words(length)} ({text})" if self.units == "in" else text

    def beyond(self, length: float, limit: float) -> tuple[str, str]:
        """A length and the limit that it is beyond, so that they differ.

        >>> Telling("in").beyond(0.5001, 0.5)
        ('0.019689 in (0.5001 mm)', '0.019685 in (0.5 mm)')
        """
        return told_apart(length, limit, self.length, self.units)

    def z(self, height: float) -> str:
        """A place in Z as the text writes it.

        >>> Telling("mm").z(-1.2), Telling("in").z(-1.2)
        ('Z-1.2', 'Z-0.0472 (-1.2 mm)')
        """
        return self._axes((("Z", height),))

    def place(self, x: float, y: float, z: float | None = None) -> str:
        """A place in program coordinates.

        >>> Telling("mm").place(1, 2.5), Telling("in").place(25.4, 0, -1.27)
        ('X1 Y2.5', 'X1 Y0 Z-0.05 (25.4, 0, -1.27 mm)')
        """
        return self._axes((("X", x), ("Y", y)) if z is None else (("X", x), ("Y", y), ("Z", z)))

    def _axes(self, values: tuple[tuple[str, float], ...]) -> str:
        if self.units == "mm":
            return " ".join(f"{axis}{plain(value)}" for axis, value in values)
        inches = " ".join(f"{axis}{plain(value / INCH, 4)}" for axis, value in values)
        return f"{inches} ({', '.join(plain(value) for _, value in values)} mm)"

    def feed(self, feed: float) -> str:
        """A feed as its F says it: mm/min, or in/min to a hundredth.

        >>> Telling("mm").feed(120), Telling("in").feed(508)
        ('120 mm/min', '20 in/min (508 mm/min)')
        """
        text = f"{plain(feed, 1)} mm/min"
        return f"{plain(feed / INCH, 2)} in/min ({text})" if self.units == "in" else text

    def chip(self, length: float) -> str:
        """What a tooth or a turn takes, to a tenth of a micrometre.

        >>> Telling("mm").chip(0.05), Telling("in").chip(0.0508)
        ('0.0500 mm', '0.00200 in (0.0508 mm)')
        """
        text = f"{fixed(length, 4)} mm"
        return f"{fixed(length / INCH, 5)} in ({text})" if self.units == "in" else text

    def area(self, area: float) -> str:
        """An area.

        >>> Telling("mm").area(3), Telling("in").area(64.516)
        ('3 mm²', '0.1 in² (64.516 mm²)')
        """
        text = f"{plain(area)} mm²"
        return f"{plain(area / INCH**2, 4)} in² ({text})" if self.units == "in" else text
