"""From a folder to a ranked run: read, extract, compare, weigh, order; each step kept in the cache.

Files are opened and decoded, and texts searched, in contained worker processes only. Here their
results are put together, and what needs all listings at once is done.
"""

from __future__ import annotations

import base64
import hashlib
import itertools
import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from extractors.codec import UnreadableRecord, from_plain, to_plain
from extractors.errors import UserError
from extractors.records import Evidence, Listing, Photo, Problem
from triage.apart import pictures_apart, without_apart
from triage.cache import Cache, digest_of, manifest
from triage.containment import TASKS, Breach, Supervisor
from triage.progress import OnProgress, Progress, no_progress
from triage.run import REPORT_MARK, Entered, PhotoPair, Run, Thumbnail, photo_place
from triage.settings import Settings
from triage.spool import Spool, in_parts

if TYPE_CHECKING:
    from extractors.photos.pairs import Pair
    from models.records import Finding
    from triage.weighing import Judged

T = TypeVar("T")

THUMBNAIL_SIDE = 360  # pixels: sharp enough beside another photo, small enough for hundreds
_AT_ONCE = 64  # fingerprints, of 60 kB, read from or written to the cache together
_CATALOGUE = "\0"  # before the SHA-256 of a catalogue picture; no path begins so
_UNNAMED = "is a picture that no listing names"  # as the readers say it
_PAGES = (".html", ".htm")
_TASKS = {
    **TASKS,
    "evidence": "triage.tasks:extract_evidence",
    "fingerprint": "triage.tasks:fingerprint_photo",
    "shrink": "triage.tasks:shrink_photo",
    "fetch": "triage.tasks:fetch_photo",
    "judge": "triage.tasks:judge_listing",
}


@dataclass(frozen=True, slots=True)
class Reading:
    """The listings of a folder and what could not be read."""

    listings: tuple[Listing, ...] = ()
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Pictures:
    """The bare pictures in a folder and what could not be read."""

    pictures: tuple[Photo, ...] = ()
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Compared:
    """The photo pairs of a folder, and the photos that could not be read.

    `known` names the collection of a catalogue picture, by SHA-256 of the photo that shows it.
    """

    pairs: tuple[PhotoPair, ...] = ()
    problems: tuple[Problem, ...] = ()
    known: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CataloguePicture:
    """A picture in one of the buyer's folders of catalogue pictures; it belongs to no listing."""

    folder: Path
    photo: Photo


@dataclass(frozen=True, slots=True)
class Work:
    """What every step needs: the folder (or file), the settings, the cache, workers, a listener."""

    folder: Path
    settings: Settings
    cache: Cache
    workers: Supervisor
    on_progress: OnProgress

    @property
    def root(self) -> Path:
        """The folder that paths in records are relative to."""
        return self.folder if self.folder.is_dir() else self.folder.parent

    def map(
        self, stage: str, task: str, payloads: Iterable[Any], total: int
    ) -> Iterator[tuple[int, Any]]:
        """Run a task over payloads in the workers, telling how far it has come."""
        for done, result in enumerate(self.workers.map(task, payloads), 1):
            yield result
            self.on_progress(Progress(stage, done, total))


@contextmanager
def working(
    folder: Path, settings: Settings, on_progress: OnProgress = no_progress
) -> Iterator[Work]:
    """Everything set up for one folder; workers start with the first task and end with the work.

    Raises UserError if there is no such folder, or nothing in it.
    """
    _check_folder(folder)
    cache = Cache(None if settings.no_cache else settings.cache)
    root = folder if folder.is_dir() else folder.parent
    supervisor = Supervisor(
        settings.workers,
        readable=(root, *settings.sheets, *settings.catalogue),
        time_limit_s=settings.patience,
        memory_mb=settings.worker_memory,
        tasks=_TASKS,
    )
    try:
        with supervisor:
            yield Work(folder, settings, cache, supervisor, on_progress)
    finally:
        cache.close()


def _check_folder(folder: Path) -> None:
    if not folder.exists():
        raise UserError(
            f"There is no folder {folder}.", "Name the folder that your saved listings are in."
        )
    try:
        empty = folder.is_dir() and not any(folder.iterdir())
    except OSError as error:
        raise UserError(
            f"The folder {folder} cannot be opened: {error.strerror}.", "Check its rights."
        ) from error
    if empty:
        raise UserError(
            f"The folder {folder} is empty.", "Save some listings into it, or name another."
        )


# --- the ways in ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Stage:
    """What one stage found; `holds` says which means of containment were in force."""

    rows: Sequence[Any]
    problems: tuple[Problem, ...]
    holds: Mapping[str, bool]


def run_stage(
    stage: str, folder: Path, settings: Settings, on_progress: OnProgress = no_progress
) -> Stage:
    """Run one of the stages read, evidence and photos."""
    with working(folder, settings, on_progress) as work:
        rows, problems = _stage_rows(stage, work)
        return Stage(rows, problems, work.workers.holds)


def _stage_rows(stage: str, work: Work) -> tuple[Sequence[Any], tuple[Problem, ...]]:
    reading = read_saved(work)
    if stage == "read":
        return reading.listings, reading.problems
    if stage == "evidence":
        told, damaged = find_evidence(work, reading.listings)
        rows = [told[listing.id] for listing in reading.listings]
        return rows, (*reading.problems, *damaged)
    bare, reading = bare_pictures(work, reading)
    photos = [photo for listing in reading.listings for photo in listing.photos]
    compared = compare_photos(work, [*photos, *bare])
    pairs = without_apart(compared.pairs, [*photos, *bare], pictures_apart(work.settings.memory))
    chosen = tuple(pair for pair in pairs if pair.stands or work.settings.all)
    return chosen, (*reading.problems, *compared.problems)


def screen(
    folder: Path,
    settings: Settings,
    on_progress: OnProgress = no_progress,
    entered: Entered = Entered(),  # noqa: B008 - a value that never changes
) -> Run:
    """Rank the listings of a folder; the same folder unchanged comes from the cache."""
    with working(folder, settings, on_progress) as work:
        key = _run_key(work, entered)
        run = _from_json(work.cache.get("run", key), Run) if key else None
        if run is None:
            run = _screen(work, entered)
            if key and _would_recur(run.problems):
                work.cache.put("run", key, _dump(run))
            work.cache.tidy()
        return replace(run, holds=dict(work.workers.holds))


def examine(
    folder: Path, settings: Settings, on_progress: OnProgress = no_progress
) -> tuple[tuple[Listing, Evidence, Judged], ...]:
    """Each listing of a folder with its evidence and findings; photos are not looked at."""
    with working(folder, settings, on_progress) as work:
        listings = read_saved(work).listings
        evidence, _ = find_evidence(work, listings)
        judged, _ = hold_against_sheets(work, listings, evidence)
        return tuple((x, evidence[x.id], judged[x.id]) for x in listings)


def _screen(work: Work, entered: Entered) -> Run:
    from models.sheets import load_sheets
    from triage.weighing import compare_all, load_scales, weigh

    scales = load_scales(work.settings)
    sheets = load_sheets(work.settings.sheets)
    reading = _with_answers(read_saved(work), entered)
    evidence, unread = find_evidence(work, reading.listings)
    judged, unheld = hold_against_sheets(work, reading.listings, evidence)
    photos = [photo for listing in reading.listings for photo in listing.photos]
    catalogue, unusable = catalogue_pictures(work)
    compared = compare_photos(work, photos, catalogue)
    pairs = without_apart(compared.pairs, photos, pictures_apart(work.settings.memory))
    standing = (*_shown_twice(reading.listings), *(pair for pair in pairs if pair.stands))
    known = {**entered.known_pictures, **compared.known}
    judged, doubts = compare_all(
        reading.listings, evidence, judged, standing, entered.earlier, known
    )
    judged, disputed = _without_disputed(judged, entered)
    weighed = weigh(reading.listings, evidence, judged, sheets, scales)
    return Run(
        folder=work.folder.resolve().name,
        rows=tuple(replace(r, disputed=disputed.get(r.listing.id, ())) for r in weighed.rows),
        pairs=standing,
        problems=(
            *reading.problems,
            *unread,
            *unusable,
            *compared.problems,
            *unheld,
            *sheets.problems,
        ),
        unsheeted=weighed.unsheeted,
        doubts=doubts,
        sureness=weighed.sureness,
    )


def _with_answers(reading: Reading, entered: Entered) -> Reading:
    """The reading with the answers that the buyer entered behind those in the listings."""
    listings = tuple(
        replace(x, answers=(*x.answers, *entered.answers[x.id])) if x.id in entered.answers else x
        for x in reading.listings
    )
    return replace(reading, listings=listings)


def _without_disputed(
    judged: Mapping[str, Judged], entered: Entered
) -> tuple[dict[str, Judged], dict[str, tuple[Finding, ...]]]:
    """The findings without those disputed, and the disputed ones by listing id."""
    kept, disputed = dict(judged), {}
    for key, places in entered.disputed.items():
        if key in kept:
            told = kept[key].findings
            disputed[key] = tuple(f for f in told if (f.check, f.point) in places)
            rest = tuple(f for f in told if (f.check, f.point) not in places)
            kept[key] = replace(kept[key], findings=rest)
    return kept, disputed


def _shown_twice(listings: Iterable[Listing]) -> tuple[PhotoPair, ...]:
    """A pair of a photo with itself for each file that more than one listing names."""
    owners = Counter(place for x in listings for place in {photo_place(p) for p in x.photos})
    return tuple(PhotoPair(p, p, 1.0, "copy") for p, count in owners.items() if count > 1)


# --- reading --------------------------------------------------------------------------------


def read_saved(work: Work) -> Reading:
    """The listings of a folder or of one file, and what could not be read."""
    key = _folder_key(work.folder) if work.folder.is_dir() else None
    reading = _from_json(work.cache.get("reading", key), Reading) if key else None
    if reading is None:
        reading = _read(work)
        if key and _would_recur(reading.problems):
            work.cache.put("reading", key, _dump(reading))
    return reading


def _read(work: Work) -> Reading:
    from triage.readers.folder import read_folder
    from triage.snapshots import false_claims, merge_snapshots

    found = read_folder(work.folder, work.workers, _counting(work, "read"))
    kept, ours = without_own_reports(work.root, found.listings)
    found = replace(found, listings=kept, problems=(*found.problems, *ours))
    saved = merge_snapshots(found.listings, _times(work.root, found.listings))
    problems = (*found.problems, *false_claims(saved))
    return Reading(with_own_ids([snapshots.current for snapshots in saved]), problems)


def without_own_reports(
    root: Path, listings: Sequence[Listing]
) -> tuple[tuple[Listing, ...], tuple[Problem, ...]]:
    """The listings without those read from this tool's own reports, which are named as problems."""
    sources = dict.fromkeys(x.source for x in listings if x.source.lower().endswith(_PAGES))
    ours = {source for source in sources if _is_own_report(root / source)}
    problems = tuple(
        Problem(source, None, "is a report of this tool, no listing", "keep reports elsewhere")
        for source in sources
        if source in ours
    )
    return tuple(x for x in listings if x.source not in ours), problems


def _is_own_report(file: Path) -> bool:
    with suppress(OSError, ValueError), file.open("rb") as opened:
        return REPORT_MARK.encode() in opened.read(2048)
    return False


def _times(root: Path, listings: Iterable[Listing]) -> dict[str, float]:
    """When each file was last changed, for listings that do not say when they were saved."""
    times: dict[str, float] = {}
    for source in {listing.source for listing in listings if not listing.date_saved}:
        with suppress(OSError, ValueError):
            times[source] = (root / source).stat().st_mtime
    return times


def with_own_ids(listings: Iterable[Listing]) -> tuple[Listing, ...]:
    """The listings, a second one of the same id getting a number behind it."""
    seen: set[str] = set()
    own: list[Listing] = []
    for listing in listings:
        chosen = listing.id
        for number in itertools.count(2):
            if chosen not in seen:
                break
            chosen = f"{listing.id}-{number}"
        seen.add(chosen)
        own.append(listing if chosen == listing.id else replace(listing, id=chosen))
    return tuple(own)


def _counting(work: Work, stage: str) -> Callable[[int, int], None]:
    return lambda done, total: work.on_progress(Progress(stage, done, total))


def bare_pictures(work: Work, reading: Reading) -> tuple[tuple[Photo, ...], Reading]:
    """The pictures that no listing names, and the reading without complaints about them."""
    unnamed = {p.source for p in reading.problems if p.what == _UNNAMED and p.member is None}
    if not unnamed:
        return (), reading
    found = _pictures_below(work, work.folder)
    kept = tuple(p for p in reading.problems if p.what != _UNNAMED or p.member is not None)
    fresh = tuple(problem for problem in found.problems if problem not in kept)
    return tuple(p for p in found.pictures if p.path in unnamed), Reading(
        reading.listings, (*kept, *fresh)
    )


def _pictures_below(work: Work, folder: Path) -> Pictures:
    """The pictures in a folder, as files; kept, since every file is read for its digest."""
    from triage.readers.folder import read_pictures

    key = _folder_key(folder)
    found = _from_json(work.cache.get("pictures", key), Pictures)
    if found is None:
        found = Pictures(*read_pictures(folder, work.workers, _counting(work, "read")))
        if _would_recur(found.problems):
            work.cache.put("pictures", key, _dump(found))
    return found


def _folder_key(folder: Path) -> str:
    return digest_of(str(folder.resolve()), manifest(folder))


# --- texts ----------------------------------------------------------------------------------


def find_evidence(
    work: Work, listings: Sequence[Listing]
) -> tuple[dict[str, Evidence], tuple[Problem, ...]]:
    """Listing id -> what its text says; a text that was given up says nothing and is a problem."""
    keys = {listing.id: _text_key(listing) for listing in listings}
    kept = work.cache.get_many("evidence", keys.values())
    read = {key: _from_json(value, Evidence) for key, value in kept.items()}
    found = {i: evidence for i, key in keys.items() if (evidence := read.get(key)) is not None}
    missing = [listing for listing in listings if listing.id not in found]
    fresh: dict[str, bytes] = {}
    problems: list[Problem] = []
    payloads = (to_plain(_for_text(listing)) for listing in missing)
    for index, result in work.map("evidence", "evidence", payloads, len(missing)):
        listing = missing[index]
        if isinstance(result, Breach):
            problems.append(result.problem(listing.source, listing.member))
        else:
            found[listing.id] = from_plain(result, Evidence)
            fresh[keys[listing.id]] = json.dumps(result).encode()
    work.cache.put_many("evidence", fresh)
    return {x.id: found.get(x.id, Evidence(x.id)) for x in listings}, tuple(problems)


def _for_text(listing: Listing) -> Listing:
    """The listing as the extractors need it, without what they do not read."""
    return replace(listing, photos=(), missing_photos=(), origins={}, hidden_text=None)


def _for_checks(listing: Listing) -> Listing:
    """As the checks need it: one of them reads what a page hides, within bounds."""
    from models.checks.unseen import MOST_READ

    hidden = (listing.hidden_text or "")[:MOST_READ] or None
    return replace(_for_text(listing), hidden_text=hidden)


def _text_key(listing: Listing) -> str:
    parts = [listing.id, listing.title, listing.description]
    parts += [text for pair in listing.specifics for text in pair]
    return digest_of(*parts, "answers", *listing.answers)


# --- photos ---------------------------------------------------------------------------------


def catalogue_pictures(work: Work) -> tuple[tuple[CataloguePicture, ...], tuple[Problem, ...]]:
    """The pictures in the buyer's folders of known ones, and what in there is no picture.

    Raises UserError for a folder that is not there.
    """
    found: list[CataloguePicture] = []
    problems: list[Problem] = []
    for folder in work.settings.catalogue:
        _check_folder(folder)
        below = _pictures_below(work, folder)
        found += (CataloguePicture(folder, picture) for picture in below.pictures)
        problems += below.problems
    return tuple(found), tuple(problems)


def compare_photos(
    work: Work, photos: Sequence[Photo], catalogue: Sequence[CataloguePicture] = ()
) -> Compared:
    """Every pair of photos looked at, which photos show a known catalogue picture, problems."""
    key = digest_of(
        str(work.settings.all),
        *sorted(f"{photo_place(p)}\0{p.sha256}" for p in photos),
        "catalogue",
        *sorted(f"{_collection(c)}\0{c.photo.sha256}" for c in catalogue),
    )
    compared = _from_json(work.cache.get("pairs", key), Compared)
    if compared is None:
        made, problems = _fingerprints(work, photos)
        pairs, known = _compare(work, photos, made, catalogue, _of_catalogue(work, catalogue))
        compared = Compared(pairs, (*problems, *_shown_too_often(pairs)), known)
        if _would_recur(problems):
            work.cache.put("pairs", key, _dump(compared))
    return compared


def _shown_too_often(pairs: Iterable[PhotoPair]) -> tuple[Problem, ...]:
    """One line if a picture has so many copies that not each was laid over each."""
    from extractors.photos.holders import MOST_COPIES

    copies = (p for p in pairs if p.stands and p.answer == "copy" and p.score < 1.0)
    count = Counter(place for pair in copies for place in (pair.a, pair.b))
    place, most = max(count.items(), key=lambda one: (one[1], one[0]), default=("", 0))
    if most < MOST_COPIES:
        return ()
    what = f"is one of more than {most} photos of one picture; not each was compared with each"
    return (Problem(place, None, what, "nothing: every one is paired with some of the others"),)


def _collection(picture: CataloguePicture) -> str:
    return picture.folder.resolve().name


def _of_catalogue(work: Work, catalogue: Sequence[CataloguePicture]) -> dict[str, memoryview]:
    """SHA-256 -> stored fingerprint of the catalogue pictures that can be read."""
    found: dict[str, memoryview] = {}
    for folder in dict.fromkeys(one.folder for one in catalogue):
        photos = [one.photo for one in catalogue if one.folder == folder]
        found |= _fingerprints(work, photos, folder)[0]
    return found


def _fingerprints(
    work: Work, photos: Sequence[Photo], root: Path | None = None
) -> tuple[dict[str, memoryview], tuple[Problem, ...]]:
    """SHA-256 -> stored fingerprint, and a problem for each photo that has none.

    The photos lie below `root`, or else in the folder of the work.
    """
    first = {photo.sha256: photo for photo in photos}
    spool = Spool()
    for keys in in_parts(first, _AT_ONCE):
        spool.add(work.cache.get_many("fingerprint", keys))
    missing = [photo for sha256, photo in first.items() if sha256 not in spool]
    fresh: dict[str, bytes] = {}
    problems: list[Problem] = []
    top = str(root or work.root)
    payloads = ({"root": top, "photo": to_plain(photo)} for photo in missing)
    for index, result in work.map("photos", "fingerprint", payloads, len(missing)):
        photo = missing[index]
        if not isinstance(result, Breach) and "fingerprint" in result:
            fresh[photo.sha256] = base64.b64decode(result["fingerprint"])
        else:
            problems.append(_photo_problem(photo, result))
        if len(fresh) >= _AT_ONCE:
            _keep_fingerprints(work, spool, fresh)
    _keep_fingerprints(work, spool, fresh)
    return spool.views(), tuple(problems)


def _keep_fingerprints(work: Work, spool: Spool, fresh: dict[str, bytes]) -> None:
    """Keep what is there by now: an interrupted run begins where it stopped."""
    work.cache.put_many("fingerprint", fresh)
    spool.add(fresh)
    fresh.clear()


def _photo_problem(photo: Photo, result: Any) -> Problem:
    if isinstance(result, Breach):
        return Problem(photo.path, photo.member, result.what, result.do)
    return Problem(photo.path, photo.member, str(result["what"]), str(result["do"]))


def _compare(
    work: Work,
    photos: Sequence[Photo],
    made: Mapping[str, memoryview],
    catalogue: Sequence[CataloguePicture],
    apart: Mapping[str, memoryview],
) -> tuple[tuple[PhotoPair, ...], dict[str, str]]:
    """Compare every photo with every other and with the catalogue pictures.

    Gives the pairs of photos, and the collection by SHA-256 of each photo that shows a picture
    of it.
    """
    from extractors.photos.fingerprint import from_bytes
    from extractors.photos.pairs import find_pairs

    work.workers.close()  # their memory is needed now
    work.on_progress(Progress("pairs", 0, 0))
    each = ((sha256, from_bytes(stored)) for sha256, stored in {**apart, **made}.items())
    read = {sha256: fingerprint for sha256, fingerprint in each if fingerprint is not None}
    places = {photo_place(photo): photo.sha256 for photo in photos if photo.sha256 in read}
    names = {_CATALOGUE + c.photo.sha256: _collection(c) for c in catalogue}
    wanted = {place: read[sha256] for place, sha256 in places.items()}
    wanted |= {key: read[sha] for key in names if (sha := key.removeprefix(_CATALOGUE)) in read}
    found = find_pairs(wanted, work.settings.all, work.settings.workers)
    work.on_progress(Progress("pairs", 1, 1))
    pairs = (p for p in found if p.a not in names and p.b not in names)
    known = {
        places[str(place)]: names[str(key)]
        for p in found
        if p.answer == "copy" and p.certain
        for place, key in ((p.a, p.b), (p.b, p.a))
        if place in places and key in names
    }
    return tuple(_as_record(pair) for pair in pairs), known


def _as_record(pair: Pair) -> PhotoPair:
    return PhotoPair(
        str(pair.a),
        str(pair.b),
        pair.score,
        pair.answer,
        pair.changes,
        pair.area_a,
        pair.area_b,
        pair.certain,
    )


def read_and_look(
    folder: Path, settings: Settings, on_progress: OnProgress = no_progress
) -> tuple[Reading, dict[str, bytes]]:
    """What a memory keeps of a folder: the listings, and SHA-256 -> the look of each photo.

    A look is the 256-bit perceptual hash; photos that cannot be read have none.
    """
    from extractors.photos.fingerprint import from_bytes

    with working(folder, settings, on_progress) as work:
        reading = read_saved(work)
        photos = [photo for listing in reading.listings for photo in listing.photos]
        made, _ = _fingerprints(work, photos)
    read = ((sha256, from_bytes(stored)) for sha256, stored in made.items())
    return reading, {sha256: bytes.fromhex(f.phash) for sha256, f in read if f is not None}


def picture_looks(folder: Path, settings: Settings) -> dict[str, bytes]:
    """SHA-256 -> the 256-bit perceptual hash of each picture in a folder that can be read."""
    from extractors.photos.fingerprint import from_bytes
    from triage.readers.folder import read_pictures

    with working(folder, settings) as work:
        pictures, _ = read_pictures(folder, work.workers, _counting(work, "read"))
        made, _ = _fingerprints(work, pictures)
    read = ((sha256, from_bytes(stored)) for sha256, stored in made.items())
    return {sha256: bytes.fromhex(f.phash) for sha256, f in read if f is not None}


def stored_fingerprints(
    photos: Sequence[Photo], folder: Path, settings: Settings
) -> dict[str, bytes]:
    """SHA-256 -> stored fingerprint of each photo below a folder that can be read."""
    with working(folder, settings) as work:
        return {key: bytes(stored) for key, stored in _fingerprints(work, photos)[0].items()}


def photo_bytes(photos: Sequence[Photo], folder: Path, settings: Settings) -> dict[str, bytes]:
    """SHA-256 -> the stored bytes of each photo that is still in the folder as it was read."""
    found: dict[str, bytes] = {}
    with working(folder, settings) as work:
        payloads = ({"root": str(work.root), "photo": to_plain(photo)} for photo in photos)
        for index, result in work.map("photos", "fetch", payloads, len(photos)):
            if isinstance(result, Breach) or "bytes" not in result:
                continue
            data = base64.b64decode(result["bytes"])
            if hashlib.sha256(data).hexdigest() == photos[index].sha256:
                found[photos[index].sha256] = data
    return found


def add_pictures(
    run: Run, folder: Path, settings: Settings, on_progress: OnProgress = no_progress
) -> Run:
    """The run with small pictures for its report, about as many as the report has room for."""
    from triage.report import wishes

    wanted = {photo.sha256: photo for photo in wishes(run)}
    likely = int(settings.report_photos * 1_000_000 / 8_000)  # bytes of a usual small picture
    with working(folder, settings, on_progress) as work:
        thumbnails = _thumbnails(work, dict(list(wanted.items())[:likely]))
    return replace(run, thumbnails=thumbnails)


def _thumbnails(work: Work, wanted: Mapping[str, Photo]) -> dict[str, Thumbnail]:
    found = work.cache.get_many("thumbnail", wanted)
    read = {key: _from_json(value, Thumbnail) for key, value in found.items()}
    made = {key: value for key, value in read.items() if value is not None}
    missing = [photo for sha256, photo in wanted.items() if sha256 not in made]
    known = {"root": str(work.root), "side": THUMBNAIL_SIDE}
    payloads = ({**known, "photo": to_plain(photo)} for photo in missing)
    fresh: dict[str, Thumbnail] = {}
    for index, result in work.map("pictures", "shrink", payloads, len(missing)):
        if not isinstance(result, Breach) and "jpeg" in result:
            sizes = (result[key] for key in ("width", "height", "full_width", "full_height"))
            fresh[missing[index].sha256] = Thumbnail(base64.b64decode(result["jpeg"]), *sizes)
    work.cache.put_many("thumbnail", {key: _dump(value) for key, value in fresh.items()})
    return {**made, **fresh}


# --- weighing -------------------------------------------------------------------------------


def hold_against_sheets(
    work: Work, listings: Sequence[Listing], evidence: Mapping[str, Evidence]
) -> tuple[dict[str, Judged], tuple[Problem, ...]]:
    """Listing id -> its reference and findings; one that was given up has neither."""
    from models.resolve import Resolution
    from triage.weighing import Judged

    sheets = [str(path.resolve()) for path in work.settings.sheets]
    payloads = (
        {
            "listing": to_plain(_for_checks(listing)),
            "evidence": to_plain(evidence[listing.id]),
            "sheets": sheets,
        }
        for listing in listings
    )
    found: dict[str, Judged] = {}
    problems: list[Problem] = []
    for index, result in work.map("checks", "judge", payloads, len(listings)):
        listing = listings[index]
        if isinstance(result, Breach):
            problems.append(result.problem(listing.source, listing.member))
        else:
            found[listing.id] = from_plain(result, Judged)
    given_up = Judged(Resolution(why="the text could not be read to its end"), ())
    return {x.id: found.get(x.id, given_up) for x in listings}, tuple(problems)


# --- the cache ------------------------------------------------------------------------------


def _run_key(work: Work, entered: Entered) -> str | None:
    """What a whole run depends on beside the code; None where that cannot be told cheaply."""
    if not work.folder.is_dir():
        return None
    chosen = work.settings
    asides = (*chosen.sheets, None, *chosen.catalogue)
    sheets = [f"{p.resolve()}\0{manifest(p)}" if p and p.exists() else str(p) for p in asides]
    scales = [p.read_bytes() for p in (chosen.weights, chosen.model) if p and p.is_file()]
    costs = (chosen.gain, chosen.resale, chosen.return_chance, chosen.look_cost)
    apart = sorted(" ".join(sorted(pair)) for pair in pictures_apart(chosen.memory))
    figures = f"{chosen.weights} {chosen.model} {costs} {chosen.looks}"
    return digest_of(_folder_key(work.folder), *sheets, *scales, figures, *apart, _dump(entered))


# what befalls a file on a busy machine, as containment says it; another day it may be read
_PASSING = ("took ", "needed more ", "crashed ", "ended its reader")


def _would_recur(problems: Iterable[Problem]) -> bool:
    """Whether every problem lies in the files themselves, so that the result may be kept."""
    return not any(problem.what.startswith(_PASSING) for problem in problems)


def _dump(record: Any) -> bytes:
    return json.dumps(to_plain(record), separators=(",", ":")).encode()


def _from_json(kept: bytes | None, record: type[T]) -> T | None:
    """A kept record; None if there is none or it cannot be read any more."""
    if kept is None:
        return None
    try:
        return from_plain(json.loads(kept), record)
    except (ValueError, UnreadableRecord):
        return None
