
"""Hostile programs, given to verify beside a sound job."""

from __future__ import annotations

from tests.hostile.case import Case, Content, Folder, Holes, Link

VERIFY = ("verify", "job.toml", "top.nc")
HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\nG0 Z30\n"


def program(name: str, content: Content, *told: str, status: int = 1) -> Case:
    """This text as the program of the job's panel; by its text alone it is refused, as a program and not as input."""
    return Case(f"a program: {name}", VERIFY, told, {"top.nc": content}, status)


def at(name: str, text: str, line: int, said: str = "") -> Case:
    """A program that is wrong on this line."""
    return program(name, text, f"line {line}:", said)


CASES = [
    program("empty", "", "line 1:", "does not end"),
    program("blank lines", "\n\n\n", "does not end"),
    program("a percent sign alone", "%\n", "line 1:"),
    program("text after the end", f"%\n{HEAD}M2\n%\nG1 X5\n", "line 6:", "after the closing"),
    at("NUL", "G21\n\0\n", 2, "'\\x00'"),
    at("UTF-16", "G21 G90\nM2\n".encode("utf-16-le").decode("latin-1"), 1, "not allowed"),
    program("bytes that are no text", b"\xff\xfe\x80\n" * 1000, "line 1:", "not allowed"),
    program("a picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "line 1:", "not allowed"),
    at("an escape sequence in a comment", HEAD + "(\x1b[2J)\nM2\n", 3, "'\\x1b'"),
    at("turned letters in a comment", HEAD + "(\u202eM3)\nM2\n", 3, "'\\u202e'"),
    at("full-width letters", HEAD + "Ｇ1 X5\n", 3, "not allowed"),
    at("a vertical tab", HEAD + "G1\x0bX5\n", 3, "not allowed"),
    at("a comment that stays open", HEAD + "(never\nM2\n", 3, "not closed"),
    at("a comment in a comment", HEAD + "(a (b))\nM2\n", 3, "inside a comment"),
    at("a line of 257 characters", HEAD + "X" + "1" * 256 + "\n", 3, "at most 256"),
    at("a line of 1,000,000 characters", HEAD + "X" + "1" * 1_000_000 + "\n", 3, "at most 256"),
    at("10,000,000 brackets on a line", "(" * 10_000_000, 1, "at most 256"),
    at("a number beyond any machine", HEAD + "G0 X" + "9" * 200 + "\n", 3, "beyond any machine"),
    at("nan", HEAD + "G0 Xnan\n", 3, "X without a number"),
    at("inf", HEAD + "G0 Xinf\n", 3),
    at("an exponent", HEAD + "G0 X1e9\n", 3),
    at("two points in a number", HEAD + "G0 X1.2.3\n", 3),
    at("two signs", HEAD + "G0 X--1\n", 3, "X without a number"),
    at("a word of no letter", HEAD + "1234\n", 3, "no word begins"),
    at("G999", HEAD + "G999\n", 3, "G999"),
    at("G of 200 digits", HEAD + "G" + "9" * 200 + "\n", 3),
    at("G-1", HEAD + "G-1 X5\n", 3, "negative"),
    at("G1.23", HEAD + "G1.23\n", 3, "whole number"),
    at("M999", HEAD + "M999\n", 3, "M999"),
    at("five M words", HEAD + "M3 M8 M0 M6 M48 S1\n", 3),
    at("the same letter twice", HEAD + "G0 X1 X2\n", 3, "twice"),
    at("two motions", HEAD + "G0 G1 X1\n", 3, "both set"),
    at("a parameter", HEAD + "#1=5\n", 3, "a parameter"),
    at("a parameter's value", HEAD + "G0 X#1\n", 3, "a parameter"),
    at("an expression", HEAD + "G0 X[1+1]\n", 3, "an expression"),
    at("a call of a subprogram", HEAD + "M98 P1000\n", 3, "M98"),
    at("a word of a subprogram", HEAD + "O100 CALL\n", 3, "begins with O"),
    at("a loop", HEAD + "WHILE [1 EQ 1] DO1\n", 3),
    at("block delete", HEAD + "/G0 X5\n", 3, "block delete"),
    at("a line number of seven digits", HEAD + "N1234567 G0 X1\n", 3, "one to five digits"),
    at("no units", "G90 G17 G94 G40 G49 G80 G54\nG0 Z30\nX10 Y10\nM2\n", 2),
    at("no mode at all", "X10 Y10\nM2\n", 1),
    at("an arc without a centre", HEAD + "G0 X0 Y0\nG1 Z5 F100\nG2 X5 Y5\n", 5),
    at("an arc with unequal radii", HEAD + "G0 X0 Y0\nG1 Z5 F100\nG2 X5 Y5 I1 J0\n", 5),
    at("a feed of 0", HEAD + "G1 X1 F0\n", 3),
    at("a feed below nothing", HEAD + "G1 X1 F-100\n", 3),
    at("a cycle that repeats 9,999,999 times", HEAD + "G0 X0 Y0\nG91 G81 X1 Y0 Z-1 R0 L9999999 F100\n", 4),
    at("a peck of nothing", HEAD + "G0 X0 Y0\nG83 X1 Y1 Z-9 R1 Q0 F100\n", 4),
    at("a peck of a millionth", HEAD + "G0 X0 Y0\nG83 X1 Y1 Z-9999999 R1 Q0.000001 F100\n", 4),
    at("a dwell below nothing", HEAD + "G4 P-5\n", 3),
    at("100,000 lines without an end", HEAD + "X1\nX2\n" * 50_000 + "G999\n", 100_003, "G999"),
    at("one word too many after 200,000 comments", HEAD + "(a)\n" * 200_000 + "M999\n", 200_003, "M999"),
    program("200 MB", Holes(200_000_000), "top.nc: is larger than", status=2),
    program("a folder", Folder(), "top.nc: cannot be read", status=2),
    program("a link to itself", Link("top.nc"), "top.nc: cannot be read", status=2),
    program("a link to nothing", Link("gone.nc"), "top.nc: cannot be read", status=2),
    Case("a program: not there", ("verify", "job.toml", "gone.nc"), ("gone.nc: cannot be read",)),
    Case("a program: a name of 300 letters", ("verify", "job.toml", "n" * 300), ("nnn", "cannot be read")),
    Case("a program: a setup of 5,000 digits", (*VERIFY, "--setup", "9" * 5000), ("--setup",), {"top.nc": HEAD}),
    Case("a program: setup -1", (*VERIFY, "--setup=-1"), ("--setup",), {"top.nc": HEAD}),
    Case("a program: setup nan", (*VERIFY, "--setup", "nan"), ("--setup",), {"top.nc": HEAD}),
]
