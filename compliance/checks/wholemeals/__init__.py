"""A whole meal for each restricted child of a site: what is read for it, the choice, what is kept and shown of it.

It changes no menu. Dishes on the plan are taken as their standing check found them; dishes on hand are judged by the
same rules as their recipe, without the kitchen's order of work, and become subject to the check once they are planned.
"""
