"""What is said about a job or a program: a coded finding, never an exception."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. ``feature`` is ``kind[n]`` or empty; ``code`` is listed in README and never changes meaning.

    ``line`` is the line of the program text where it happens (0: not about a text).
    """

    severity: Severity
    code: str
    panel: str
    feature: str
    message: str
    line: int = 0


def has_errors(findings: tuple[Finding, ...] | list[Finding]) -> bool:
    """Whether any finding is of severity *error*.

    >>> has_errors([])
    False
    """
    return any(finding.severity == "error" for finding in findings)


CODES: dict[str, str] = {
    # before cutting
    "outside-panel": "a feature reaches beyond the panel's outline",
    "overlap": "two openings overlap",
    "thin-web": "the web between two openings is thinner than the material's rule",
    "thin-floor": "the floor under a blind feature is thin, or so thin that the cutter comes through",
    "deep-countersink": "a countersink comes out below the sheet wider than its hole, or meets a blind hole's floor",
    "short-thread": "the sheet holds too few turns of a thread",
    "thin-edge": "an opening is nearer to the panel's edge than the material's rule",
    "no-such-setup": "a clamp stands in a setup that the panel does not have",
    "under-clamp": "cutter, shank or collet nut would meet a clamp while cutting this feature",
    "under-flange": "cutter, shank or collet nut would meet a wall of the folded box while cutting this feature",
    "closed-in": "the opposite face of the folded box lies over this one, and no cutter gets in",
    "clamp-off-stock": "a clamp holds nothing: it lies beside the sheet",
    "no-cutter": "no cutter in the table can make this feature on this machine",
    "no-countersink": "no countersink in the table makes this cone, or the spindle turns too fast for it",
    "beyond-travel": "the panel or its cuts do not fit into the machine's travel or daylight",
    "divided": "a panel larger than the machine's travel is divided into setups: how, and how well pins carry it over",
    "not-divisible": "a panel larger than the machine's travel cannot be divided: why, and what would make it possible",
    "no-index": "no holes of a divided panel take pins that carry its position from one setup to the next",
    "thin-drill-web": "a pilot is thinner than the web of the drill that is to follow it by hand",
    "no-touch-off": "no free place on the sheet for touching off Z",
    "file-corner": "a sharp inside corner keeps the cutter's radius; how much is left for the file",
    "file-key": "a key that no cutter may make is left for the file",
    "loose-slug": "a large opening without tabs: its slug comes loose",
    "no-tabs": "no room for the holding tabs that were asked for",
    "narrow-margin": "the margin round a machined outline has no room for the kerf and a frame",
    "pilot-method": "a pilot that no drill may make is bored, or becomes a centre mark",
    "plots-only": "the machine has no spindle: drawings and the drilling schedule are all that is made",
    "measured": "the real piece differs from the design",
    "fit-strip": "what a fit strip holds, and what is too large for it",
    "drawing-left-out": "something of a drawing is no geometry to cut, or lies where it is not read",
    "drawing-curves": "curves of a drawing are followed by arcs, within the stated tolerance",
    "drawing-units": "a drawing is read in other units than it states",
    "drawing-begun": "what was made of a drawing from which a job was begun",
    "drawing-repaired": "a broken drawing was mended, as --recover asks",
    "lettering": "a title, label or text has letters that the plotter's alphabet writes otherwise",
    "legend-over-opening": "a text or scale runs into an opening, or too near to one",
    "legend-covered": "a component on the outside covers a text or scale, or stands too near to it",
    "legend-near-edge": "a text or scale is too near to the panel's edge or to a bend",
    "legends-meet": "two texts or scales, or two numbers of one scale, run into each other",
    "legend-line": "an engraved line is too wide for its lettering",
    "legend-depth": "lettering is engraved too deep for its sheet",
    "legend-inside": "lettering cannot be engraved on a panel that is machined from the inside",
    "mark-under-clamp": "a clamp, or a wall of the folded box, keeps the pen from a mark, which is left out",
    "crowded-row": "a row's components find no room on its line",
    # about the box
    "bodies-meet": "two components are in each other's room, on one face or round a corner of the box",
    "meets-wall": "a component reaches into a wall of the chassis",
    "meets-obstacle": "a component reaches into an obstacle",
    "too-near": "two things have less air between them than one of them wants",
    "no-spanner-room": "a spanner does not get round a nut",
    "seat-over-edge": "a nut or flange reaches beyond the panel's edge",
    "seat-over-opening": "a nut or flange lies over an opening that is not its own",
    "does-not-pass": "a component that goes in through its hole is larger than it",
    "speaker-on-cloth": "a loudspeaker's frame sits on the cloth that is turned over behind the baffle",
    "bend-zone": "an opening, nut or washer is too near to a bend",
    "chassis-size": "a panel does not have the size that its face of the chassis has",
    "chassis-sheet": "a bent face is of another sheet than the chassis or than what it is bent from one piece with",
    "cabinet-play": "the chassis has too little play in its cabinet, or does not go in",
    "baffle-play": "the baffle with its cloth has too little play in its opening, or does not go in",
    "mains-near-signal": "a part that carries mains is near to a signal input",
    "transformers-parallel": "transformers with parallel axes stand near to each other",
    "hot-near-can": "a hot part is near to a capacitor can",
    "hot-near-bulb": "a hot part is near to a bulb",
    "live-near-metal": "live terminals are near to metal",
    "inlet-without-earth": "a mains inlet in metal without an earth stud of its own",
    "inlet-without-fuse": "a mains inlet in metal without a fuse",
    "bare-cable": "a cable runs through metal without a grommet or strain relief",
    # about a program
    "unreadable": "the program's text breaks the language or leaves a mode unstated",
    "other-units": "the program says other units than its figures are in",
    "overcut": "the program cuts into what should stay",
    "undercut": "the program leaves what should be gone",
    "not-made": "an opening, mark or engraved text or scale is missing",
    "stray-cut": "the program cuts where nothing is to be cut",
    "tabs-wrong": "the holding tabs are not as declared",
    "rapid-in-stock": "a rapid passes through the sheet or through what is left of it",
    "spindle-off": "the cutter feeds into the sheet with the spindle stopped or turning backwards",
    "out-of-travel": "a move leaves the machine's travel or daylight",
    "hits-clamp": "cutter, shank or collet nut passes through a clamp",
    "hits-flange": "cutter, shank or collet nut passes through a wall of the folded box",
    "hits-stock": "shank or collet nut rubs on the sheet",
    "too-deep": "a cut goes too far into the spoilboard",
    "below-flutes": "a cut is deeper than the flutes are long",
    "too-fast": "surface speed or spindle speed is beyond the cutter, the table or the spindle",
    "too-hard": "feed per tooth, feed or power is beyond the table, the machine or the spindle",
    "rubbing-feed": "the feed is so slow that the cutter rubs: its chip is under the material's floor",
    "loose-early": "a piece comes loose before what lies in it is finished",
    "no-change": "a cutter is named but not put in: the changer waits for M6",
    "z-unknown": "a move in Z after a change of cutter and before Z is set",
    "no-spin-up": "cutting begins before the spindle has run up to speed",
    "bad-start": "the first motion is not a rapid of Z alone to the clear height",
    "bad-stop": "a stop or the end comes before the retract or with the spindle turning",
    "air-pass": "an air pass starts the spindle, or leaves out a place",
    "air-low": "an air pass goes below the clear height",
    "unknown-cutter": "the program calls a cutter that the table does not hold",
    "incomplete": "the programs given do less than the whole setup",
    "setup-missing": "of a divided panel not all setups are given, so the piece as a whole is not judged",
    "comment-differs": "a comment that is obeyed by hand says another cutter or speed than T or S",
    "differs": "the text does not say what the plan meant",
}
"""Every code of a finding and what it means: README's list is held against this."""
