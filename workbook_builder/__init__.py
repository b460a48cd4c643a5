"""Self-contained spreadsheet workbooks with live formulas, built from templates, reference tables and a job file."""

__version__ = "0.1.0"
