"""How wide a text is set, so that nothing on a strip runs into its neighbour.

The widths are the horizontal advances of the two faces the strips are set in,
Besley and Libre Franklin (both OFL 1.1), in thousandths of the type size, read
from the font files' ``hmtx`` tables. A sign that is not listed is taken to be as
wide as the widest letter, so a guess can only leave room.
"""

from typing import Literal, NamedTuple

Voice = Literal["said", "said light", "read", "read bold", "read italic"]


class Face(NamedTuple):
    """Family, weight and style of a voice, as SVG attributes name them."""

    family: str
    weight: int
    style: str = "normal"


FACES: dict[Voice, Face] = {
    "said": Face("Besley, serif", 800),
    "said light": Face("Besley, serif", 500),
    "read": Face("Franklin, sans-serif", 400),
    "read bold": Face("Franklin, sans-serif", 700),
    "read italic": Face("Franklin, sans-serif", 400, "italic"),
}

_SIGNS = " !#&'()+-./0123456789:ABCDEFGHIJKLMNOPQRSTUVWXYZ[]abcdefghijklmnopqrstuvwxyz°·×ø–‹›′"
_BESLEY_800 = (
    "300 378 660 906 272 489 488 530 460 297 520 658 580 674 594 624 614 634 580 614 634 235 926 822 840 "
    "894 818 788 925 976 521 682 944 766 1160 934 888 770 888 903 722 800 910 926 1260 906 858 794 384 384 "
    "659 710 602 710 606 442 666 727 406 371 738 402 1046 750 626 710 698 610 559 450 742 652 922 686 689 "
    "575 320 287 534 627 716 415 415 470"
)
_BESLEY_500 = (
    "300 330 660 877 214 454 454 530 460 247 520 603 536 590 542 556 534 566 535 546 566 235 872 762 816 "
    "836 769 735 880 902 436 606 886 735 1059 886 841 706 841 798 682 780 854 872 1196 877 799 762 336 336 "
    "576 654 554 654 559 400 612 671 346 307 635 329 944 687 579 652 642 506 514 373 674 593 872 602 632 "
    "546 320 214 508 580 716 415 415 470"
)
_FRANKLIN_400 = (
    "214 244 603 778 240 286 286 557 381 209 342 688 465 599 641 649 654 661 599 668 658 209 727 699 707 "
    "722 628 601 739 735 290 418 701 602 906 757 764 690 765 696 641 645 709 707 1045 688 675 631 287 287 "
    "548 599 542 599 581 379 602 584 239 239 564 239 906 584 599 597 599 383 512 387 579 547 796 544 530 "
    "482 464 201 540 583 558 267 268 233"
)
_FRANKLIN_700 = (
    "206 264 603 838 248 314 314 583 380 251 365 708 509 644 667 689 676 685 619 683 684 251 771 723 725 "
    "751 654 631 752 751 315 447 744 627 949 759 774 715 775 722 677 681 721 733 1084 729 735 681 316 316 "
    "563 609 551 609 586 402 633 597 265 265 604 266 919 596 599 609 609 426 530 432 592 573 818 591 566 "
    "519 464 248 576 596 584 290 290 269"
)


def _table(widths: str) -> dict[str, float]:
    return dict(zip(_SIGNS, (int(width) / 1000 for width in widths.split()), strict=True))


ADVANCES: dict[Voice, dict[str, float]] = {
    "said": _table(_BESLEY_800),
    "said light": _table(_BESLEY_500),
    "read": _table(_FRANKLIN_400),
    "read bold": _table(_FRANKLIN_700),
    "read italic": _table(_FRANKLIN_400),
}
_UNKNOWN = 1.26
# How far signs reach above the line, and those that hang below it, over the type size.
_RISE = {"said": 0.8, "read": 0.75}
_HANG = {"said": 0.26, "read": 0.17}
_HANGING = frozenset("()[]gjpqy,;Q/")


def text_width(text: str, size: float, voice: Voice) -> float:
    """Width of ``text`` set at ``size``, in the unit of ``size``.

    >>> round(text_width("12", 10, "read bold"), 2)
    11.53
    """
    advances = ADVANCES[voice]
    return size * sum(advances.get(sign, _UNKNOWN) for sign in text)


def text_rise(size: float, voice: Voice) -> float:
    """How far a text reaches above its line."""
    return size * _RISE[voice.split()[0]]


def text_depth(text: str, size: float, voice: Voice) -> float:
    """How far ``text`` reaches below its line: nothing for figures and capitals."""
    return size * _HANG[voice.split()[0]] if _HANGING.intersection(text) else 0.0
