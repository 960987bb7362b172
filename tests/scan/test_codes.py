"""The words of the coded discs: no turn, mirror image or slip of one passes for another."""

from __future__ import annotations

from platekit.scan.codes import SECTORS, WORDS, Code, known_words, mirrored, turned


def test_any_two_ways_to_see_a_disc_differ_in_four_sectors_at_least() -> None:
    ways = [turned(way, k) for word in WORDS for way in (word, mirrored(word)) for k in range(SECTORS)]
    assert len(ways) == 36 * 36
    assert min((a ^ b).bit_count() for i, a in enumerate(ways) for b in ways[i + 1 :]) >= 4


def test_a_turned_and_mirrored_word_tells_so() -> None:
    code = Code("letter", "back", 2)
    seen = known_words()[turned(mirrored(code.word), 5)]
    assert (seen.code, seen.turned, seen.mirrored) == (code, 5, True)
    assert known_words()[code.word].turned == 0


def test_each_disc_has_white_and_black_sectors_enough_to_be_read() -> None:
    assert all(7 <= word.bit_count() <= 11 for word in WORDS)
