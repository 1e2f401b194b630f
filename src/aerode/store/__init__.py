"""The bench file: every revision of every record, with its digest, in one file.

`aerode.store.bench_file.BenchFile` is the door; the other modules of this room are its parts.
"""
