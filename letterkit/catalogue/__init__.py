"""The examination as data, and the code that loads and validates it.

Here may stand: every item that is looked for, the sites, scales, presenting problems, cautions and terms, as TOML in
`data/`, one file a stage; their models; the loader; the page of documentation made from them. Nothing here imports
another room of the package. Adding an item to the examination is an edit to one file.
"""

from letterkit.catalogue.load import Catalogue, catalogue, load

__all__ = ["Catalogue", "catalogue", "load"]
