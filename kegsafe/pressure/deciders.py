"""Who goes before this program, in one set of words for screen and paper."""

DECIDERS = (
    "The competent person and the written scheme of examination decide, and the maker's plate and "
    "instructions.",
    "The cylinder's owner decides on its dates, its marks and what may be filled.",
    "The local authority decides what the law asks: fire code official, pressure vessel "
    "inspector, labour inspectorate.",
    "If any of these says something else than this page, they are right.",
)
