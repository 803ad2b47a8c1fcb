"""How often the codes of a mark are read from round a rope, picture by picture, by a decoder that is not ours.

    python benchmarks/codes.py [PICTURES]

Strips are printed at 600 dpi, wound round a rope in a simulation (tests/labels/wrapped.py says what it leaves out),
photographed from all round with a tilt of up to 15 degrees either way, and read by zxing-cpp. The last column is a
person with a telephone: read in any of five pictures taken while the hand moves a little. A second table has what
makes it harder, and a third the pieces of tape, each wound or laid along alone.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from dataclasses import replace

import numpy as np

from labels.strips_read import PRINTED_DPI, cameras, on_tape, over_tape, printed, read
from labels.wrapped import Camera, photograph
from tethera.labels.strip import What

KINDS: dict[str, What] = {"qr": "qr", "code128": "code128-along"}
DIAMETERS_MM = (8.0, 9.0, 10.5, 11.0)
NUMBER, SEED = "UG41", 7
#: From so near [mm], leaning out of the picture [degrees], and with a streak of light [share].
HARDER = (
    {},
    {"from_mm": 300.0},
    {"from_mm": 120.0},
    {"pitch_deg": 10.0},
    {"pitch_deg": 15.0},
    {"pitch_deg": 20.0},
    {"gloss": 0.5},
)


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
    harder(count)
    tape(count)


def harder(count: int) -> None:
    """Print how much fewer are read from near, aslant and under a gloss."""
    print("\n300 dpi, blur 0.6 px\nrope mm  taken                   QR  Code 128")
    for diameter in DIAMETERS_MM:
        for worse in HARDER:
            taken = [replace(each, **worse) for each in cameras(count, 0.6, SEED)]
            found = [one_picture(diameter, camera, SEED + n) for n, camera in enumerate(taken)]
            qr, bars = (sum(each[kind] == {NUMBER} for each in found) / count for kind in ("qr", "code128"))
            how = ", ".join(f"{name} {value:g}" for name, value in worse.items()) or "squarely, from far"
            print(f"{diameter:7g}  {how:20s} {qr:5.0%} {bars:9.0%}")


def tape(count: int) -> None:
    """Print how often the codes on tape are read, of pictures from all round."""
    print("\n300 dpi, blur 0.6 px\nrope mm  tape mm    QR, one piece  Code 128, laid along")
    for diameter in DIAMETERS_MM:
        for wide in (12, 18, 24):
            shares = []
            for kind, what in KINDS.items():
                piece = on_tape(NUMBER, diameter, wide, what)
                over = over_tape(NUMBER, diameter)
                found = [
                    read(photograph(piece, PRINTED_DPI / 25.4, over, camera, SEED + n))
                    for n, camera in enumerate(cameras(count, 0.6, SEED))
                ]
                shares.append(sum(each[kind] == {NUMBER} for each in found) / count)
            print(f"{diameter:7g} {wide:8d} {shares[0]:16.0%} {shares[1]:21.0%}")


if __name__ == "__main__":
    main()
