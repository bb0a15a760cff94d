"""The runs that know the order of the stages: an update, going on from the last one, a plan checked alone.

What arrives: a workspace. What leaves: a published history. Stages know nothing of each other; they meet here.
"""
