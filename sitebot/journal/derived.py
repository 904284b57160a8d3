"""The tables that follow from the entries, rebuilt from them by ``sitebot check``. Only projections write them."""

from __future__ import annotations

import sqlalchemy as sa

from sitebot.journal.columns import UtcTime, Words, metadata, site_key

sites = sa.Table(
    "sites",
    metadata,
    site_key(),
    sa.Column("name", Words, nullable=False),
    sa.Column("settings", Words, nullable=False),
)

roster = sa.Table(
    "roster",
    metadata,
    site_key(),
    sa.Column("person", Words, primary_key=True),
    sa.Column("role", Words, nullable=False),
    sa.Column("language", Words, nullable=False),
    sa.Column("active", sa.Boolean, nullable=False),
    sa.Column("stopped", sa.Boolean, nullable=False),
    #: Why texts to the person do not arrive; "" they do.
    sa.Column("unreached", Words, nullable=False),
)

places = sa.Table(
    "places",
    metadata,
    site_key(),
    sa.Column("place", Words, primary_key=True),
    sa.Column("rank", sa.Integer, nullable=False),
    sa.Column("kinds", Words, nullable=False),
    #: As the site file last gave them.
    sa.Column("filed", Words, nullable=False),
)

nicknames = sa.Table(
    "nicknames",
    metadata,
    site_key(),
    sa.Column("said", Words, primary_key=True),
    sa.Column("meant", Words, nullable=False),
)

splices = sa.Table(
    "splices",
    metadata,
    site_key(),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("place", Words),
    sa.Column("kind", Words, nullable=False),
    sa.Column("welders", Words, nullable=False),
    sa.Column("iron", Words),
    sa.Column("temp_f", sa.Float),
    sa.Column("temp_by", Words),
    sa.Column("profile", Words),
    sa.Column("lot", Words),
    sa.Column("made_at", UtcTime),
    sa.Column("day", Words, nullable=False),
    sa.Column("status", Words, nullable=False),
    sa.Column("defect", Words),
    sa.Column("value", sa.Float),
    sa.Column("unit", Words),
    sa.Column("verdict_by", Words),
    #: When the last verdict was given.
    sa.Column("judged_at", UtcTime),
    sa.Column("self_inspected", sa.Boolean, nullable=False),
    sa.Column("redo_of", sa.Integer),
    #: A rejected splice is open until a redo is reported.
    sa.Column("open", sa.Boolean, nullable=False),
    sa.Column("told_by", Words, nullable=False),
    sa.Column("told_at", UtcTime),
    sa.Column("late", sa.Boolean, nullable=False),
    sa.Column("before_sample", sa.Boolean, nullable=False),
    sa.Column("damaged", sa.Boolean, nullable=False),
    #: JSON: what look, bend and laboratory showed.
    sa.Column("findings", Words, nullable=False),
    # Each ends with the number: else SQLite, which has no statistics, walks the whole site in the order asked for.
    sa.Index("splices_status", "site", "status", "number"),
    sa.Index("splices_day", "site", "day", "number"),
    sa.Index("splices_place", "site", "place", "status", "number"),
    sa.Index("splices_redo", "site", "redo_of", "number"),
    sa.Index("splices_open", "site", "open", "number"),
    sa.Index("splices_judged", "site", "status", "judged_at"),
)

splice_entries = sa.Table(
    "splice_entries",
    metadata,
    site_key(),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
)

counts = sa.Table(
    "counts",
    metadata,
    site_key(),
    #: "" for all days together.
    sa.Column("day", Words, primary_key=True),
    sa.Column("place", Words, primary_key=True),
    sa.Column("kind", Words, primary_key=True),
    sa.Column("status", Words, primary_key=True),
    sa.Column("n", sa.Integer, nullable=False),
)

samples = sa.Table(
    "samples",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", Words, nullable=False),
    sa.Column("iron", Words),
    sa.Column("verdict", Words, nullable=False),
    sa.Column("defect", Words),
    sa.Column("profile", Words),
    sa.Column("welders", Words, nullable=False),
    sa.Column("witnessed", sa.Boolean, nullable=False),
    sa.Column("witness", Words, nullable=False),
    sa.Column("person", Words, nullable=False),
    sa.Index("samples_day", "site", "day", "seq"),
)

weather = sa.Table(
    "weather",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", Words, nullable=False),
    sa.Column("air_f", sa.Float),
    sa.Column("humidity", sa.Float),
    sa.Column("rain", Words),
    sa.Column("wind", Words),
    sa.Column("wind_mph", sa.Float),
    sa.Column("shelter", Words),
    sa.Column("person", Words, nullable=False),
    sa.Index("weather_day", "site", "day", "seq"),
)

iron_events = sa.Table(
    "iron_events",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", Words, nullable=False),
    sa.Column("iron", Words),
    sa.Column("event", Words, nullable=False),
    sa.Column("temp_f", sa.Float),
    sa.Column("temp_by", Words),
    sa.Index("iron_events_day", "site", "day", "seq"),
)

irons = sa.Table(
    "irons",
    metadata,
    site_key(),
    #: "" is an iron nobody has named.
    sa.Column("iron", Words, primary_key=True),
    sa.Column("is_on", sa.Boolean, nullable=False),
    sa.Column("since", UtcTime, nullable=False),
    sa.Column("temp_f", sa.Float),
    sa.Column("read_at", UtcTime),
)

day_changes = sa.Table(
    "day_changes",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("date", Words, nullable=False),
    sa.Column("start", Words),
    sa.Column("end", Words),
    sa.Column("no_work", sa.Boolean),
    sa.Column("snooze_min", sa.Integer),
    sa.Column("snooze_until", UtcTime),
    sa.Column("remind_at", UtcTime),
    sa.Column("what", Words),
    sa.Column("every", Words),
    sa.Column("clock", Words),
    sa.Column("quiet", sa.Boolean, nullable=False),
    sa.Column("who", Words, nullable=False),
    sa.Column("person", Words, nullable=False),
    sa.Index("day_changes_date", "site", "date", "seq"),
)

crews = sa.Table(
    "crews",
    metadata,
    site_key(),
    sa.Column("day", Words, primary_key=True),
    sa.Column("people", Words, nullable=False),
)

acknowledgements = sa.Table(
    "acknowledgements",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", Words, nullable=False),
    sa.Column("what", Words, nullable=False),
    sa.Column("iron", Words),
    sa.Index("acknowledgements_day", "site", "day", "seq"),
)

reminded = sa.Table(
    "reminded",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("day", Words, nullable=False),
    sa.Column("what", Words, nullable=False),
    sa.Column("iron", Words),
    sa.Column("step", sa.Integer, nullable=False),
    sa.Column("people", Words, nullable=False),
    sa.Index("reminded_day", "site", "day", "seq"),
)

damages = sa.Table(
    "damages",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("place", Words),
    sa.Column("number", sa.Integer),
    sa.Column("what", Words, nullable=False),
    sa.Column("open", sa.Boolean, nullable=False),
    sa.Index("damages_open", "site", "open", "place", "seq"),
)

relayed = sa.Table(
    "relayed",
    metadata,
    site_key(),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("verdict", Words, nullable=False),
    sa.Column("person", Words, nullable=False),
    sa.Column("at", UtcTime, nullable=False),
)

pours = sa.Table(
    "pours",
    metadata,
    site_key(),
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("place", Words, nullable=False),
    #: planned or released
    sa.Column("what", Words, nullable=False),
    sa.Column("date", Words, nullable=False),
    sa.Column("time", Words),
    sa.Column("reason", Words, nullable=False),
    sa.Column("open_points", Words, nullable=False),
    sa.Column("person", Words, nullable=False),
    sa.Index("pours_place", "site", "what", "place", "seq"),
)

PROJECTIONS = (
    sites,
    roster,
    places,
    nicknames,
    splices,
    splice_entries,
    counts,
    samples,
    weather,
    iron_events,
    irons,
    day_changes,
    crews,
    acknowledgements,
    reminded,
    damages,
    relayed,
    pours,
)
