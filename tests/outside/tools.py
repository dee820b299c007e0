"""What the checks share: running other programs, and saying plainly which one is missing."""

import importlib
import shutil
import subprocess
import sys

# Where each comes from, told when it is missing.
PROGRAMS = {
    "qpdf": "apt-get install qpdf",
    "pdffonts": "apt-get install poppler-utils",
    "pdfinfo": "apt-get install poppler-utils",
    "pdftotext": "apt-get install poppler-utils",
    "pdftoppm": "apt-get install poppler-utils",
    "zbarimg": "apt-get install zbar-tools",
    "fribidi": "apt-get install libfribidi-bin",
}
MODULES = {
    "fontTools.cffLib": "pip install fonttools",
    "fontTools.pens.boundsPen": "pip install fonttools",
    "fontTools.ttLib": "pip install fonttools",
    "odf.opendocument": "pip install odfpy",
    "odf.table": "pip install odfpy",
    "odf.text": "pip install odfpy",
    "openpyxl": "pip install openpyxl",
    "pikepdf": "pip install pikepdf",
    "PIL.Image": "pip install pillow",
    "PIL.ImageChops": "pip install pillow",
    "PIL.ImageFilter": "pip install pillow",
    "uharfbuzz": "pip install uharfbuzz",
    "xlsxwriter": "pip install XlsxWriter",
    "zxingcpp": "pip install zxing-cpp",
}


def module(name):
    """A Python module, or the end of the check with the way to get it."""
    try:
        return importlib.import_module(name)
    except ImportError as failure:
        sys.exit(f"missing: {name} ({failure}); {MODULES[name]}")


def run(*command, may_fail=False, stdin=None):
    """What a program prints on standard output, given this on standard input; its complaints end the check."""
    if shutil.which(command[0]) is None:
        sys.exit(f"missing: {command[0]}; {PROGRAMS[command[0]]}")
    done = subprocess.run(command, input=stdin, capture_output=True, text=True, encoding="utf-8", check=False)
    if not may_fail and (done.returncode != 0 or done.stderr.strip()):
        sys.exit(f"{' '.join(command)} ended with {done.returncode}\n{done.stdout}{done.stderr}")
    return done.stdout


def same(what, got, wanted):
    """Ends the check when two values differ."""
    if got != wanted:
        sys.exit(f"{what}\n     is {got!r}\n should {wanted!r}")


def close(what, got, wanted, tolerance):
    """Ends the check when two lists of numbers differ by more than the tolerance."""
    if len(got) != len(wanted) or any(abs(a - b) > tolerance for a, b in zip(got, wanted)):
        sys.exit(f"{what}\n     is {got!r}\n should {wanted!r} (to {tolerance})")
