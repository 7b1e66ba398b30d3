"""Draw an EAN-13 symbol as a video for Chromium's pretended camera.

Bar patterns: ISO/IEC 15420, as printed in the GS1 General Specifications, section 5.2 (from memory; the scanner, which
is somebody else's, reads what is drawn here).
"""

from __future__ import annotations

from pathlib import Path

L = ("0001101", "0011001", "0010011", "0111101", "0100011", "0110001", "0101111", "0111011", "0110111", "0001011")
R = tuple("".join("10"[int(bar)] for bar in code) for code in L)
G = tuple(code[::-1] for code in R)
PARITY = ("LLLLLL", "LLGLGG", "LLGGLG", "LLGGGL", "LGLLGG", "LGGLLG", "LGGGLL", "LGLGLG", "LGLGGL", "LGGLGL")

WIDTH, HEIGHT, MODULE = 640, 480, 4
DARK, LIGHT = 16, 235  # of the luma range of video


def modules(digits: str) -> str:
    """Return the symbol of thirteen digits as dark (1) and light (0) modules."""
    first, left, right = int(digits[0]), digits[1:7], digits[7:]
    sets = {"L": L, "G": G}
    return (
        "101"
        + "".join(sets[kind][int(digit)] for kind, digit in zip(PARITY[first], left, strict=True))
        + "01010"
        + "".join(R[int(digit)] for digit in right)
        + "101"
    )


def film(digits: str, path: Path) -> Path:
    """Write one still picture of the symbol as a YUV4MPEG2 file, which Chromium plays over and over."""
    bars = modules(digits)
    quiet = (WIDTH - len(bars) * MODULE) // 2
    middle = b"".join(bytes([DARK if bar == "1" else LIGHT]) * MODULE for bar in bars)
    row = bytes([LIGHT]) * quiet + middle + bytes([LIGHT]) * (WIDTH - quiet - len(middle))
    colourless = bytes([128]) * (WIDTH * HEIGHT // 2)
    header = f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F10:1 Ip A1:1 C420jpeg\n".encode()
    path.write_bytes(header + (b"FRAME\n" + row * HEIGHT + colourless) * 2)
    return path


def camera(digits: str, folder: Path) -> list[str]:
    """Return the arguments that give Chromium a camera which sees these bars."""
    return [
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={film(digits, folder / 'bars.y4m')}",
    ]
