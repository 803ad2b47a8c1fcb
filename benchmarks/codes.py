"""How often the codes of a mark are read from round a rope, picture by picture, by a decoder that is not ours.

    python benchmarks/codes.py [PICTURES]

Strips are printed at 600 dpi, wound round a rope in a simulation (tests/labels/wrapped.py says what it leaves out),
photographed from all round with a tilt of up to 15 degrees either way, and read by zxing-cpp. The last column is a
person with a telephone: read in any of five pictures taken while the hand moves a little.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from dataclasses import replace

import numpy as np

from labels.strips_read import PRINTED_DPI, cameras, over_tape, printed, read
from labels.wrapped import Camera, photograph

DIAMETERS_MM = (8.0, 9.0, 10.5, 11.0)
NUMBER, SEED = "UG41", 7


def one_picture(diameter_mm: float, camera: Camera, seed: int) -> dict[str, set[str]]:
    """What is read in one picture of a marked rope."""
    strip = printed(NUMBER, diameter_mm)
    return read(photograph(strip, PRINTED_DPI / 25.4, over_tape(NUMBER, diameter_mm), camera, seed))


def by_hand(diameter_mm: float, camera: Camera, seed: int) -> bool:
    """Whether the QR code is read in any of five pictures, the hand a little elsewhere in each."""
    chance = np.random.default_rng(seed)
    for shot in range(5):
        moved = replace(
            camera,
            roll_deg=camera.roll_deg + float(chance.uniform(-10, 10)),
            tilt_deg=camera.tilt_deg + float(chance.uniform(-5, 5)),
            blur_px=camera.blur_px * float(chance.uniform(0.8, 1.2)),
        )
        if one_picture(diameter_mm, moved, seed + shot)["qr"] == {NUMBER}:
            return True
    return False


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 36
    print(f"{count} pictures a row; share read")
    print("rope mm  dpi  blur px    QR  Code 128  either  QR in five pictures")
    for dpi in (300, 600):
        for diameter in DIAMETERS_MM:
            for blur in (0.6, 1.0):
                taken = [replace(each, px_per_mm=dpi / 25.4) for each in cameras(count, blur, SEED)]
                found = [one_picture(diameter, camera, SEED + n) for n, camera in enumerate(taken)]
                wrong = {text for each in found for text in each["qr"] | each["code128"]} - {NUMBER}
                assert not wrong, f"read as {wrong}"
                qr = sum(bool(each["qr"]) for each in found) / count
                bars = sum(bool(each["code128"]) for each in found) / count
                either = sum(bool(each["qr"] | each["code128"]) for each in found) / count
                hand = sum(by_hand(diameter, camera, SEED + 100 * n) for n, camera in enumerate(taken)) / count
                print(f"{diameter:7g} {dpi:4d} {blur:8g} {qr:5.0%} {bars:9.0%} {either:7.0%} {hand:20.0%}")


if __name__ == "__main__":
    main()
