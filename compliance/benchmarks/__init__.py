"""What the night, a change and a treat cost, measured on an invented district.

It measures wall-clock seconds of the service's own code on a database of its own, beside what bounds or rivals it in
the same run: the bare writing of every exception, a plain loop over children and dishes, one SQL statement. Figures of
different machines do not compare; ratios within one run do. The ways must count the same exceptions, or nothing is
told.
"""
