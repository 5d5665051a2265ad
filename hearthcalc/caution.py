"""The cautions that every page carries. Text alone, so that the first paint costs nothing."""

LINE = (
    "CAUTION: fire can burn the house, its carbon monoxide can kill. These are checks against reference "
    "values, not an approval; a licensed mason and the local building department decide."
)

SHORT = "CAUTION: fire and carbon monoxide kill. Not an approval. In full: Ctrl+R"
"""The same on one row of 80 columns, once the cautions were read in full; the key opens them again."""

FULL = (
    "A fire can burn the house down, and the carbon monoxide it makes can kill without a smell or a sound.",
    "What stands here are checks against published reference values. They are not an approval, and no "
    "figure here says that a fireplace may be lit.",
    "Local codes and their amendments override every value used. A licensed mason and the local building "
    "department decide.",
    "Nothing here has looked inside the flue. Have it inspected by camera before any work that changes "
    "the fireplace or the chimney.",
    "A value marked 'from memory' or 'assumption' has not been seen in its source: check it before you rely on it.",
    "Working carbon-monoxide and smoke alarms belong in every house with a fireplace.",
)
