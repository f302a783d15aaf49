"""The kinds of awkward clips, made small: what phones, cameras, editors and messengers produce."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from PIL import Image

from tests.clip import made


@dataclass(frozen=True)
class Truth:
    """What a right reader must get from a clip.

    numbers:      of the pictures, in order
    ticks:        their stamps on the clip's clock; only differences count
    size:         upright, square pixels
    slow_factor:  file time / true time, None when the file does not say
    hue_off:      how far a colour patch may be off
    """

    numbers: tuple[int, ...]
    ticks: tuple[int, ...]
    clock_hz: int
    size: tuple[int, int] = made.WIDE
    slow_factor: float | None = None
    hue_off: int = 14

    @property
    def times_s(self) -> list[float]:
        return [float(Fraction(tick - self.ticks[0], self.clock_hz)) for tick in self.ticks]


def _write(
    path: Path, first: int, ticks: list[int], clock_hz: int, **more: object
) -> tuple[tuple[int, ...], tuple[int, ...], int]:
    numbers = tuple(range(first, first + len(ticks)))
    pictures = [made.draw(number) for number in numbers]
    made.write_clip(path, pictures, ticks, clock_hz, **more)  # type: ignore[arg-type]
    return numbers, tuple(ticks), clock_hz


def plain(path: Path) -> Truth:
    return Truth(*_write(path, 0, made.steady(24, 30, 15360), 15360))


def uneven_with_drops(path: Path) -> Truth:
    gaps = [1500 + 37 * (k % 5) - 74 for k in range(39)]
    gaps[8], gaps[21], gaps[30] = 3010, 6020, 2990
    ticks = [sum(gaps[:k]) for k in range(40)]
    return Truth(*_write(path, 10, ticks, 90_000))


def changes_rate(path: Path) -> Truth:
    ticks = [3000 * k for k in range(24)] + [69_000 + 375 * (k + 1) for k in range(48)]
    return Truth(*_write(path, 50, ticks, 90_000))


def noted_240_as_30(path: Path) -> Truth:
    numbers, ticks, clock = _write(path, 130, made.steady(32, 30, 90_000), 90_000)
    made.note_capture_rate(path, 240.0)
    return Truth(numbers, ticks, clock, slow_factor=8.0)


def noted_with_jitter(path: Path) -> Truth:
    ticks = [3003 * k + (0, 90, -60, 30)[k % 4] for k in range(32)]
    numbers, ticks_, clock = _write(path, 170, ticks, 90_000)
    made.note_capture_rate(path, 240.0)
    return Truth(numbers, ticks_, clock, slow_factor=8.0)


def real_time_240(path: Path) -> Truth:
    return Truth(*_write(path, 210, made.steady(40, 240, 2400), 2400), slow_factor=1.0)


def coarse_clock_240(path: Path) -> Truth:
    ticks = [round(k * 600 / 240) for k in range(40)]
    return Truth(*_write(path, 260, ticks, 600), slow_factor=1.0)


def hidden_start(path: Path) -> Truth:
    options = {"preset": "ultrafast", "bf": "0", "x264-params": "log-level=error"}
    ticks = made.steady(30, 60, 90_000)
    numbers, _, clock = _write(path, 300, ticks, 90_000, options=options)
    made.hide_start(path, 10 * 1500, 20 * 1500, 90_000)
    return Truth(numbers[10:], tuple(ticks[10:]), clock)


def late_start(path: Path) -> Truth:
    """Sound from 0 s, pictures from 0.5 s: a constant-rate reader invents 15 copies."""
    numbers = tuple(range(340, 360))
    ticks = [45_000 + 3000 * k for k in range(20)]
    with av.open(str(path), "w") as file:
        sound = file.add_stream("aac", rate=8000)
        sound.layout = "mono"
        video = file.add_stream("libx264", rate=30, options=made.quick_options("libx264"))
        video.width, video.height, video.pix_fmt = *made.WIDE, "yuv420p"
        video.time_base = video.codec_context.time_base = Fraction(1, 90_000)
        video.codec_context.colorspace, video.codec_context.color_range = 1, 1
        for k in range(12):
            quiet = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), "fltp", "mono")
            quiet.sample_rate, quiet.pts, quiet.time_base = 8000, 1024 * k, Fraction(1, 8000)
            file.mux(sound.encode(quiet))
        for number, stamp in zip(numbers, ticks, strict=True):
            frame = av.VideoFrame.from_image(made.draw(number))
            frame = frame.reformat(
                format="yuv420p", dst_colorspace="ITU709", dst_color_range="MPEG"
            )
            frame.pts, frame.time_base = stamp, Fraction(1, 90_000)
            file.mux(video.encode(frame))
        file.mux(sound.encode(None))
        file.mux(video.encode(None))
    return Truth(numbers, tuple(ticks), 90_000)


def turned(degrees: int, is_mirrored: bool = False) -> Callable[[Path], Truth]:
    def make(path: Path) -> Truth:
        numbers = tuple(range(400, 408))
        pictures = [made.stored(made.draw(n, made.TALL), degrees, is_mirrored) for n in numbers]
        ticks = made.steady(8, 60, 90_000)
        made.write_clip(path, pictures, ticks, 90_000)
        made.turn_clip(path, degrees, is_mirrored)
        return Truth(numbers, tuple(ticks), 90_000, size=made.TALL)

    return make


def wide_pixels_turned(path: Path) -> Truth:
    """Stored 192 × 144 with pixels 4:3, which is 256 × 144, then turned by 270 degrees."""
    numbers = tuple(range(410, 418))
    pictures = [
        made.stored(made.draw(n, (144, 256)), 270).resize((192, 144), Image.Resampling.LANCZOS)
        for n in numbers
    ]
    ticks = made.steady(8, 30, 90_000)
    made.write_clip(path, pictures, ticks, 90_000, pixel_shape=Fraction(4, 3))
    made.turn_clip(path, 270)
    return Truth(numbers, tuple(ticks), 90_000, size=(144, 256))


def narrow_pixels(path: Path) -> Truth:
    """Stored 256 × 144 with pixels 8:9: the height is stretched, the width never shrunk."""
    numbers = tuple(range(420, 428))
    pictures = [
        made.draw(n, (256, 162)).resize((256, 144), Image.Resampling.LANCZOS) for n in numbers
    ]
    ticks = made.steady(8, 25, 1000)
    made.write_clip(path, pictures, ticks, 1000, pixel_shape=Fraction(8, 9))
    return Truth(numbers, tuple(ticks), 1000, size=(256, 162))


def full_range_601(path: Path) -> Truth:
    ticks = made.steady(8, 30, 90_000)
    more = {"pixel_format": "yuv420p", "matrix": "bt601", "is_full_range": True}
    return Truth(*_write(path, 430, ticks, 90_000, **more))


def odd_size_ms_clock(path: Path) -> Truth:
    numbers = tuple(range(440, 470))
    ticks = [round(k * 1000 / 240) for k in range(30)]
    pictures = [made.draw(n, (241, 137)) for n in numbers]
    options = {"deadline": "realtime", "cpu-used": "8", "crf": "20", "b": "0"}
    made.write_clip(path, pictures, ticks, 1000, coding="libvpx-vp9", options=options)
    return Truth(numbers, tuple(ticks), 1000, size=(241, 137), slow_factor=1.0)


def jpegs_in_avi(path: Path) -> Truth:
    ticks = list(range(16))
    more = {
        "coding": "mjpeg",
        "pixel_format": "yuvj420p",
        "matrix": "bt601",
        "is_full_range": True,
    }
    return Truth(*_write(path, 480, ticks, 30, **more))


def animation(path: Path) -> Truth:
    numbers, ms = tuple(range(500, 508)), [100, 50, 20, 200, 30, 40, 60, 100]
    pictures = [made.draw(n).quantize(64, dither=Image.Dither.NONE) for n in numbers]
    pictures[0].save(path, save_all=True, append_images=pictures[1:], duration=ms, disposal=1)
    return Truth(numbers, tuple(sum(ms[:k]) for k in range(8)), 1000, hue_off=30)


def transport_stream(path: Path) -> Truth:
    ticks = made.steady(30, 50, 90_000)
    options = {"preset": "ultrafast", "g": "10", "x264-params": "log-level=error"}
    return Truth(*_write(path, 510, ticks, 90_000, options=options))


def single(path: Path) -> Truth:
    return Truth(*_write(path, 550, [0], 90_000))


def one_key_picture(path: Path) -> Truth:
    options = {"preset": "veryfast", "g": "999", "bf": "3", "x264-params": "log-level=error"}
    options["sc_threshold"] = "0"
    ticks = made.steady(60, 240, 90_000)
    return Truth(*_write(path, 560, ticks, 90_000, options=options), slow_factor=1.0)


def equal_stamps(path: Path) -> Truth:
    """2500 pictures a second on a clock of 1 ms: neighbours share a stamp."""
    numbers = tuple(range(630, 650))
    ticks = [round(k * 0.4) for k in range(20)]
    tick = Fraction(1, 1000)
    with av.open(str(path), "w") as file:
        stream = file.add_stream("mjpeg", rate=30)
        stream.width, stream.height, stream.pix_fmt = *made.WIDE, "yuvj420p"
        stream.time_base = tick
        for number, stamp in zip(numbers, ticks, strict=True):
            frame = av.VideoFrame.from_image(made.draw(number)).reformat(format="yuvj420p")
            for packet in stream.encode(frame):
                packet.pts = packet.dts = stamp
                packet.time_base = tick
                file.mux(packet)
    return Truth(numbers, tuple(ticks), 1000)


def open_groups(path: Path) -> Truth:
    keys = "log-level=error:pools=1:keyint=8:min-keyint=8:open-gop=1:bframes=4:scenecut=0"
    options = {"preset": "ultrafast", "crf": "18", "x265-params": keys}
    ticks = made.steady(32, 60, 600)
    return Truth(*_write(path, 660, ticks, 600, coding="libx265", options=options))


def hdr(kind: str) -> Callable[[Path], Truth]:
    """A picture placed in an HDR signal with its white at 203 cd/m² (BT.2408)."""

    def make(path: Path) -> Truth:
        numbers, ticks = tuple(range(700, 704)), (0, 1500, 3000, 4500)
        tick = Fraction(1, 90_000)
        options = {"preset": "ultrafast", "crf": "14", "x265-params": _hdr_words(kind)}
        with av.open(str(path), "w") as file:
            stream = file.add_stream("libx265", rate=60, options=options)
            stream.width, stream.height, stream.pix_fmt = *made.WIDE, "yuv420p10le"
            stream.time_base = stream.codec_context.time_base = tick
            stream.codec_context.colorspace = stream.codec_context.color_primaries = 9
            stream.codec_context.color_trc = {"hlg": 18, "pq": 16}[kind]
            stream.codec_context.color_range = 1
            for number, stamp in zip(numbers, ticks, strict=True):
                planes = _ten_bits(_signal(made.draw(number), kind))
                frame = av.VideoFrame.from_ndarray(planes, format="yuv420p10le")
                frame.pts, frame.time_base = stamp, tick
                file.mux(stream.encode(frame))
            file.mux(stream.encode(None))
        return Truth(numbers, ticks, 90_000, hue_off=20)

    return make


def _hdr_words(kind: str) -> str:
    curve = {"hlg": "arib-std-b67", "pq": "smpte2084"}[kind]
    colours = f"colorprim=bt2020:transfer={curve}:colormatrix=bt2020nc:range=limited"
    return f"log-level=error:pools=1:{colours}"


def _signal(picture: Image.Image, kind: str) -> np.ndarray:
    """Return HDR signal values 0…1: BT.1886 light, BT.2087 primaries, BT.2100 curve."""
    light = (np.asarray(picture, dtype=float) / 255) ** 2.4
    to_2020 = np.array(
        [[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]]
    )
    nits = 203 * light @ to_2020.T
    if kind == "pq":
        y = (nits / 10_000) ** 0.1593017578125
        return ((0.8359375 + 18.8515625 * y) / (1 + 18.6875 * y)) ** 78.84375
    display = nits / 1000
    luminance = np.maximum(display @ np.array([0.2627, 0.6780, 0.0593]), 1e-9)[..., None]
    scene = display * luminance ** (1 / 1.2 - 1)
    dark = np.sqrt(3 * scene)
    bright = 0.17883277 * np.log(np.maximum(12 * scene - 0.28466892, 1e-9)) + 0.55991073
    return np.where(scene <= 1 / 12, dark, bright)


def _ten_bits(signal: np.ndarray) -> np.ndarray:
    """Return limited-range BT.2020 4:2:0 planes as PyAV wants them, shape (1.5 h, w)."""
    red, green, blue = signal[..., 0], signal[..., 1], signal[..., 2]
    luma = 0.2627 * red + 0.6780 * green + 0.0593 * blue
    halves = []
    for colour, scale in ((blue, 1.8814), (red, 1.4746)):
        chroma = (colour - luma) / scale
        height, width = chroma.shape
        halves.append(chroma.reshape(height // 2, 2, width // 2, 2).mean(axis=(1, 3)))
    rows = [64 + 876 * luma, *(512 + 896 * half.reshape(-1, luma.shape[1]) for half in halves)]
    return np.clip(np.rint(np.vstack(rows)), 0, 1023).astype(np.uint16)


def interlaced(path: Path) -> Truth:
    """Two half pictures in one; both show the same number here, so the number can be read."""
    numbers, tick = tuple(range(800, 812)), Fraction(1, 25)
    graph = av.filter.Graph()
    source = graph.add_buffer(width=240, height=136, format="yuv420p", time_base=tick)
    field, sink = graph.add("setfield", "tff"), graph.add("buffersink")
    source.link_to(field)
    field.link_to(sink)
    graph.configure()
    with av.open(str(path), "w") as file:
        options = {"flags": "+ildct+ilme", "qscale": "3", "b": "4000000"}
        stream = file.add_stream("mpeg2video", rate=25, options=options)
        stream.width, stream.height, stream.pix_fmt = 240, 136, "yuv420p"
        stream.codec_context.colorspace = 6
        for k, number in enumerate(numbers):
            frame = av.VideoFrame.from_image(made.draw(number))
            frame = frame.reformat(format="yuv420p", dst_colorspace="ITU601")
            frame.pts, frame.time_base = k, tick
            graph.push(frame)
            flagged = graph.pull()
            file.mux(stream.encode(flagged))
        file.mux(stream.encode(None))
    return Truth(numbers, tuple(range(12)), 25)


KINDS: dict[str, Callable[[Path], Truth]] = {
    "plain.mp4": plain,
    "uneven_with_drops.mp4": uneven_with_drops,
    "changes_rate.mp4": changes_rate,
    "noted_240_as_30.mp4": noted_240_as_30,
    "noted_with_jitter.mp4": noted_with_jitter,
    "real_time_240.mov": real_time_240,
    "coarse_clock_240.mov": coarse_clock_240,
    "hidden_start.mp4": hidden_start,
    "late_start.mp4": late_start,
    **{f"turned_{d}.mp4": turned(d) for d in (90, 180, 270)},
    "mirrored.mp4": turned(0, is_mirrored=True),
    "mirrored_and_turned.mp4": turned(90, is_mirrored=True),
    "wide_pixels_turned.mp4": wide_pixels_turned,
    "narrow_pixels.mkv": narrow_pixels,
    "full_range_601.mp4": full_range_601,
    "odd_size_ms_clock.webm": odd_size_ms_clock,
    "jpegs_in_avi.avi": jpegs_in_avi,
    "animation.gif": animation,
    "transport_stream.ts": transport_stream,
    "interlaced.ts": interlaced,
    "single.mp4": single,
    "one_key_picture.mp4": one_key_picture,
    "equal_stamps.mkv": equal_stamps,
    "open_groups.mp4": open_groups,
    "hdr_hlg.mp4": hdr("hlg"),
    "hdr_pq.mp4": hdr("pq"),
}
