"""The bench in the browser: pages for people, a typed interface for other programs, both over `bench`.

    options      what the server is started with
    application  the whole of it, put together
    doorstep, serving, listening, only_one, phrase   starting and ending the server
    guard        who may ask, what answers may do, how large a question may be
    asking       what every page and resource shares: units, templates, faults, files
    upkeep       what lives as long as the server: the keepers of findings, of readiness, of running machines
    pages        one module for each page
    http_api     one module for each resource of the typed interface
    templates, static; scripts and styles that pages share lie in static/js and static/css/base.css
"""
