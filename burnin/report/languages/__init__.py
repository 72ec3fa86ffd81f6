"""The words of every language: the one place where a meaning becomes a sentence.

`catalogue.py` words meanings, readings, stages, figures and days; start there. The words lie in
``<room>.<language>.toml`` beside it, those of a stage kind in the stage's package. `numbers.py` and
`moments.py` write figures and days, `one_line.py` keeps foreign text from breaking a page,
`values.py` writes readings, `language.py` is the seam. It knows the core and nothing of records.
"""

from importlib.resources import files

from burnin.report.languages.language import Language

ENGLISH = Language("en", "English", files(__name__))
GERMAN = Language("de", "Deutsch", files(__name__))
