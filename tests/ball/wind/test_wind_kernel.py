"""The compiled winding on surfaces of our choice: lengths, growth, sliding, against plain ways."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from clew.ball.wind.closed_forms import sphere_growth, tilted_coil_on_sphere_mm
from clew.ball.wind.job import Job, course_of, table_of
from clew.ball.wind.kernel import _middle_of_turn, _radius_at, wind_turns
from clew.ball.wind.mandrel import bands_on, mandrel_bands, steep_run
from clew.ball.wind.sliding_kernel import settle


def wind(bands, tilt_deg, *, ratio=20.3, area=500 / 300, turns=math.inf, keep=()):
    """Wind on any bands; a number of tilt is held for the turns asked."""
    if np.ndim(tilt_deg) == 0:
        tilt_deg = np.full(math.ceil(turns), float(tilt_deg))
    job = Job(
        area_mm2=area,
        turns=float(turns),
        length_mm=math.inf,
        keep_at=np.array(keep, dtype=np.int64),
    )
    course = course_of(np.asarray(tilt_deg), ratio, bands.bare.size)
    return wind_turns(bands, steep_run(bands), job, course, table_of(bands))


def measured(radius_at, tilt_deg, ratio, half):
    """The length of one turn on a surface given by a function of latitude, laid without volume."""
    bands = surface(radius_at, half)
    return float(wind(bands, tilt_deg, ratio=ratio, area=1e-12, turns=1).turn_mm[0])


def surface(radius_at, half, friction=50.0):
    """Bands with the means of R^3 of a surface, by three-point Gauss in each band."""
    edge = np.linspace(0.0, 0.5 * math.pi, half + 1)
    node = np.array([-math.sqrt(0.6), 0.0, math.sqrt(0.6)])
    weight = np.array([5.0, 8.0, 5.0])
    latitude = 0.5 * (edge[1:] + edge[:-1])[:, None] + 0.5 * (edge[1] - edge[0]) * node
    share = weight * np.cos(latitude)
    bare = np.sum(share * radius_at(latitude) ** 3, axis=1) / np.sum(share, axis=1)
    return bands_on(bare, friction)


def true_turn(radius_at, slope_at, tilt_deg, ratio):
    """The length of one turn by quadrature of the path in space, in the turning ball's frame."""
    tilt = math.radians(tilt_deg)

    def speed(t):
        sine = -math.sin(tilt) * math.cos(t)
        latitude = math.asin(sine)
        cosine = math.sqrt(1.0 - sine * sine)
        up = math.sin(tilt) * math.sin(t) / cosine
        round_ = math.cos(tilt) / cosine**2 - 1.0 / ratio
        radius, slope = radius_at(latitude), slope_at(latitude)
        return math.sqrt((slope**2 + radius**2) * up**2 + (radius * cosine * round_) ** 2)

    return sum(
        quad(speed, a * math.pi / 2, (a + 1) * math.pi / 2, epsabs=1e-10)[0] for a in range(4)
    )


@pytest.mark.parametrize("ratio", [20.3, -20.3, 3.7, 1e9])
@pytest.mark.parametrize("tilt", [0.0, 30.0, 60.0, 89.0])
def test_a_turn_on_a_sphere_is_the_elliptic_integral(tilt, ratio):
    """On a sphere the only error is that of the straight speed inside a band."""
    bands = bands_on(np.full(90, 25.0**3), 0.3)
    turn = wind(bands, tilt, ratio=ratio, area=1e-12, turns=1).turn_mm[0]
    assert turn == pytest.approx(tilted_coil_on_sphere_mm(25.0, tilt, ratio), rel=2e-5)


@pytest.mark.parametrize("half", [15, 30, 90])
def test_a_tilt_on_the_edge_of_a_band_is_nothing_special(half):
    """With the apex on an edge, a rounding above or below it, length and yarn are continuous."""
    bands = mandrel_bands(30.0, 70.0, 0.3, 2 * half)
    for edge in range(1, half):
        tilt = 90.0 * edge / half
        near = [tilt - 1e-6, np.nextafter(tilt, 0.0), tilt, np.nextafter(tilt, 90.0), tilt + 1e-6]
        lengths = [wind(bands, one, turns=1).turn_mm[0] for one in near]
        assert lengths == pytest.approx([lengths[0]] * 5, rel=1e-5)
        volumes = [wind(bands, one, turns=1).cubed_mm3 for one in near]
        assert np.max(np.abs(volumes - volumes[0]) / volumes[0]) < 1e-5


@pytest.mark.parametrize("ratio", [20.3, -7.0])
@pytest.mark.parametrize("tilt", [23.0, 47.0, 70.0])
def test_a_turn_on_a_smooth_surface_converges_in_second_order(tilt, ratio):
    """On a waisted surface the error over the square of a band's height tends to a constant."""

    def radius_at(lat):
        return 40.0 + 8.0 * np.sin(lat) ** 2 - 3.0 * np.sin(lat) ** 4

    def slope_at(lat):
        return (16.0 * math.sin(lat) - 12.0 * math.sin(lat) ** 3) * math.cos(lat)

    exact = true_turn(radius_at, slope_at, tilt, ratio)
    halves = np.array([16, 64, 256, 1024])
    found = np.array([measured(radius_at, tilt, ratio, half) for half in halves])
    constant = (found / exact - 1.0) * (2.0 * halves / math.pi) ** 2
    assert np.all(np.abs(constant) < 0.08)
    assert constant[3] == pytest.approx(constant[2], abs=0.008)


@pytest.mark.parametrize("ridge", [40.0, 40.7, 50.0, 35.0])
def test_a_ridge_and_a_valley_lose_no_order(ridge):
    """With the slopes of settled yarn, a valley and a ridge, the error stays small."""
    top = math.radians(ridge)

    def radius_at(lat):
        return 40.0 * np.exp(-0.3 * np.abs(np.abs(lat) - top))

    def slope_at(lat):
        return -0.3 * np.sign(lat) * np.sign(abs(lat) - top) * radius_at(lat)

    exact = true_turn(radius_at, slope_at, 40.0, 20.3)
    assert measured(radius_at, 40.0, 20.3, 90) == pytest.approx(exact, rel=2e-4)
    assert measured(radius_at, 40.0, 20.3, 720) == pytest.approx(exact, rel=6e-6)


def test_great_circles_laid_evenly_grow_the_closed_sphere():
    """Tilts with cos(b) spread evenly lay yarn evenly: R^2 = r0^2 + a n and its length."""
    turns, area = 6400, 0.5  # a fine strand, so that single coils leave no ridges
    tilt = np.degrees(np.arccos((np.arange(turns) * 0.6180339887498949) % 1.0))
    start = bands_on(np.full(60, 25.0**3), 0.3)
    done = wind(start, tilt, ratio=1e12, area=area, turns=turns)
    grown = sphere_growth(25.0, area, turns=turns)
    assert done.turn_mm.sum() / 1000.0 == pytest.approx(grown.length_m, rel=2e-4)
    radius = np.cbrt(done.cubed_mm3)
    assert radius[:-2] == pytest.approx(grown.radius_mm, rel=1e-3)
    assert radius[-2:] == pytest.approx(grown.radius_mm, rel=0.015)  # no coil crosses the pole


@pytest.mark.parametrize("tilt", [20.0, 50.0])
def test_without_friction_one_tilt_grows_a_sphere(tilt):
    """Where nothing holds on a slope the ball stays round: R^2 = r0^2 + a k n/(2 pi)."""
    turns, area, ratio = 800, 2.0, 20.3
    done = wind(bands_on(np.full(90, 25.0**3), 0.0), tilt, ratio=ratio, area=area, turns=turns)
    k = tilted_coil_on_sphere_mm(1.0, tilt, ratio)
    radius = math.sqrt(25.0**2 + area * k * turns / (2.0 * math.pi))
    assert np.cbrt(done.cubed_mm3) == pytest.approx(radius, rel=1e-5)


def naive_slide(volume, bare, coef, limit):
    """Move yarn from band to lower band, pair by pair, until nothing moves: slow and plain."""
    q = volume / coef
    for sweep in range(20000):
        moved = 0.0
        order = range(q.size - 1) if sweep % 2 == 0 else range(q.size - 2, -1, -1)
        for i in order:
            for high, low in ((i, i + 1), (i + 1, i)):
                excess = (q[high] - limit * q[low]) / (1.0 / coef[high] + limit / coef[low])
                excess = min(excess, coef[high] * (q[high] - bare[high]))
                if excess > 0.0:
                    q[high] -= excess / coef[high]
                    q[low] += excess / coef[low]
                    moved += excess
        if moved < 1e-11 * volume.sum():
            return q
    raise AssertionError("the plain way did not come to rest")


def crossing_flows(volume, q, coef):
    """The volume that went over each edge between bands, towards the pole."""
    return np.cumsum(volume - coef * q)[:-1]


@settings(max_examples=150)
@given(
    st.sampled_from([(30.0, 70.0), (100.0, 10.0), (30.0, 300.0), (40.0, 40.0), None]),
    st.lists(st.floats(0.0, 1.0), min_size=16, max_size=16),
    st.floats(0.0, 0.8),
    st.floats(1.0, 1e6),
)
def test_yarn_slides_only_downhill_and_only_where_it_must(size, laid, friction, scale):
    """What moved went down a slope at its limit, or over bare mandrel; nothing is steeper."""
    half = 16
    if size is None:
        bands = bands_on(np.full(half, 20.0**3), friction)
    else:
        bands = mandrel_bands(*size, friction, 2 * half)
    volume = bands.coef * bands.bare + np.array(laid) * scale
    q = settled(bands, volume)
    total = volume.sum()
    assert np.dot(bands.coef, q) == pytest.approx(total, rel=1e-12)
    assert np.all(q >= bands.bare * (1.0 - 1e-12))
    bare = q <= bands.bare * (1.0 + 1e-12)
    flows = crossing_flows(volume, q, bands.coef)
    for i, flow in enumerate(flows):
        for high, low, went in ((i, i + 1, flow), (i + 1, i, -flow)):
            steep = q[high] / (bands.limit * q[low])
            assert steep <= 1.0 + 1e-9 or bare[high]
            if went > 1e-11 * total:
                assert steep >= 1.0 - 1e-9


@pytest.mark.parametrize("friction", [0.0, 0.07, 0.3, 0.45])
@pytest.mark.parametrize("size", [(30.0, 70.0), (40.0, 40.0), (60.0, 30.0), (100.0, 10.0), None])
@pytest.mark.parametrize("at", [0, -1])
def test_yarn_that_goes_one_way_comes_to_rest_as_in_the_plain_way(at, size, friction):
    """Laid in the middle or on the end alone, from hardly any to a ball that buries the edge."""
    if size is None:
        bands = bands_on(np.full(10, 20.0**3), friction)
    else:
        bands = mandrel_bands(*size, friction, 20)
    for laid_mm3 in (0.0, 30.0, 1e4, 3e5):
        volume = bands.coef * bands.bare
        volume[at] += laid_mm3
        plain = naive_slide(volume.copy(), bands.bare, bands.coef, bands.limit)
        assert settled(bands, volume) == pytest.approx(plain, rel=1e-7)


def test_what_has_settled_stays():
    """Settling a settled ball again and again moves nothing."""
    bands = mandrel_bands(30.0, 70.0, 0.3, 60)
    q = wind(bands, 40.0, turns=300).cubed_mm3
    again = q
    for _ in range(500):
        again = settled(bands, bands.coef * again)
    assert again == pytest.approx(q, rel=1e-13)


def settled(bands, volume):
    """Let volumes slide on a mandrel that is still bare."""
    table = table_of(bands)
    table.volume[:] = volume
    settle(bands, table, steep_run(bands))
    return table.cubed


def naive_wind(tilts_deg, ratio, area, friction, half):
    """Wind a mandrel of 30 x 70 mm by points on the path in space and slides pair by pair."""
    bands = mandrel_bands(30.0, 70.0, friction, 2 * half)
    coef = np.concatenate((bands.coef[::-1], bands.coef)) / 2.0
    bare = np.concatenate((bands.bare[::-1], bands.bare))
    q = bare.copy()
    middle = (np.arange(2 * half) + 0.5) * bands.step_rad - 0.5 * math.pi
    t = np.linspace(0.0, 2.0 * math.pi, 721)
    lengths = []
    for tilt in np.radians(tilts_deg):
        way = np.array(
            [np.cos(tilt) * np.cos(t), np.sin(t), -np.sin(tilt) * np.cos(t)]
        )  # the flyer's circle, then turned back with the ball
        x = way[0] * np.cos(t / ratio) + way[1] * np.sin(t / ratio)
        y = way[1] * np.cos(t / ratio) - way[0] * np.sin(t / ratio)
        latitude = np.arcsin(way[2])
        path = np.interp(latitude, middle, np.cbrt(q)) * np.array([x, y, way[2]])
        piece = np.linalg.norm(np.diff(path, axis=1), axis=0)
        place = 0.5 * (latitude[1:] + latitude[:-1])
        band = np.clip(((place + 0.5 * math.pi) / bands.step_rad).astype(int), 0, 2 * half - 1)
        volume = coef * q + area * np.bincount(band, piece, minlength=2 * half)
        q = naive_slide(volume, bare, coef, bands.limit)
        lengths.append(piece.sum())
    return np.array(lengths), q[half:]


def test_the_first_turns_agree_with_a_plain_winding():
    """Forty turns on the bare mandrel by points in space have the length and shape by bands."""
    tilts = 20.0 + 40.0 * np.abs((np.arange(40) / 12.5) % 2.0 - 1.0)
    lengths, q = naive_wind(tilts, 20.3, 4.0, 0.3, 30)
    done = wind(mandrel_bands(30.0, 70.0, 0.3, 60), tilts, area=4.0, turns=40)
    # the plain way takes each turn on the surface before it: half a turn of growth behind
    assert done.turn_mm.sum() == pytest.approx(lengths.sum() * 1.003, rel=6e-3)
    assert np.cbrt(done.cubed_mm3) == pytest.approx(np.cbrt(q), rel=0.015)


def test_the_kept_surfaces_are_those_of_a_shorter_winding():
    """The surface kept at a turn is the final one of a winding stopped there."""
    bands = mandrel_bands(30.0, 70.0, 0.3, 60)
    long = wind(bands, 40.0, turns=200, keep=(0, 77, 200))
    short = wind(bands, 40.0, turns=77, keep=(0,))
    assert np.array_equal(long.kept_mm3[0], bands.bare)
    assert np.array_equal(long.kept_mm3[1], short.cubed_mm3)
    assert np.array_equal(long.kept_mm3[2], long.cubed_mm3)
    assert np.array_equal(long.kept_slid_mm3[1:], (short.slid_mm3, long.slid_mm3))


@pytest.mark.parametrize("top", [6.1, 6.5, 6.9])
def test_a_ridge_between_two_middles_is_read_as_it_stands(top):
    """Two straight flanks that meet between two band middles: the reading is exact, also there."""
    flank = np.array([1.5, 0.6])

    def height(place):
        return 50.0 - np.where(place < top, flank[0] * (top - place), flank[1] * (place - top))

    radius = height(np.arange(14.0))
    places = np.linspace(1.0, 12.0, 111)
    read = [_radius_at(radius, place) for place in places]
    assert read == pytest.approx(height(places), rel=1e-12)
    mirrored = [_radius_at(radius[::-1].copy(), 13.0 - place) for place in places]
    assert mirrored == pytest.approx(read, rel=1e-12)


def test_the_reading_holds_still_beyond_the_first_and_last_middle():
    radius = np.array([40.0, 41.0, 43.0, 46.0, 50.0, 55.0])
    assert _radius_at(radius, -0.5) == radius[0]
    assert _radius_at(radius, 5.5) == radius[-1]
    assert _radius_at(radius, 0.25) == pytest.approx(40.25)
    assert _radius_at(radius, 4.75) == pytest.approx(53.75)


@pytest.mark.parametrize("growth", [0.0, 1e-6, 0.02, 0.1])
def test_the_middle_of_a_turn_is_half_a_growth_further_on(growth):
    """The cube root is that of the growth before carried half a turn on, to the last digits."""
    before = np.linspace(10.0, 60.0, 9) ** 3
    now = before * (1.0 + growth * np.linspace(0.0, 1.0, 9))
    radius = np.cbrt(before)
    _middle_of_turn.py_func(before, now, radius)  # not compiled by itself
    assert radius == pytest.approx(np.cbrt(now + 0.5 * (now - before)), rel=1e-12)


@pytest.mark.parametrize("keep", [(0,), (40,), (0, 40)])
def test_what_slides_is_counted_for_any_surfaces_kept(keep):
    """Yarn that left its band is counted whichever surfaces are kept; for none it is not."""
    bands = mandrel_bands(30.0, 70.0, 0.3, 60)
    slid = wind(bands, 40.0, turns=40, keep=range(41)).slid_mm3
    assert slid > 0.0
    assert wind(bands, 40.0, turns=40, keep=keep).slid_mm3 == slid
    assert wind(bands, 40.0, turns=40).slid_mm3 == 0.0
