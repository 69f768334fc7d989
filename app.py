"""Starts the app, nothing else."""

import streamlit as st

if __name__ == "__main__":  # a page is drawn
    from advisor.pages.shell import run

    run()
else:  # the server starts
    from advisor.pages.server import MIDDLEWARE, ROUTES, started

    app = st.App(__file__, routes=ROUTES, middleware=MIDDLEWARE, lifespan=started)
