"""A pytest plugin under which one module is imported with one mutant in it.

CONTINUITY_MUTANT names it: the module, a colon, and the mutant's number; without a number nothing
is changed, and every test must pass.
"""

from __future__ import annotations

import os
import sys
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader
from typing import TYPE_CHECKING, Any

from tests.mutation.mutants import mutants

if TYPE_CHECKING:
    from types import CodeType

MODULE, _, NUMBER = os.environ["CONTINUITY_MUTANT"].partition(":")


class Planting(SourceFileLoader):
    """Compiles the mutant in place of what the file says."""

    def get_code(self, fullname: str) -> CodeType:
        source = self.get_source(fullname)
        tree = mutants(source)[int(NUMBER)].planted(source) if NUMBER else source
        return compile(tree, self.path, "exec", dont_inherit=True)


class Finder(MetaPathFinder):
    """Finds the one module."""

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> ModuleSpec | None:
        spec = PathFinder.find_spec(fullname, path) if fullname == MODULE else None
        if spec and spec.origin:
            spec.loader = Planting(fullname, spec.origin)
        return spec


assert MODULE not in sys.modules
sys.meta_path.insert(0, Finder())
