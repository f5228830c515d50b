import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
g=9.80665
d=.0762; D=.1016
As=np.pi/4*d*d; A=np.pi/4*D*D
L=20.; K=.02*20/D+1.5; I=L/(g*A); foot=-3.0
def Ec(Q):
    if Q<=1e-14: return 0.
    def f(th): # theta half... depth y = D/2(1-cos th)
        a=D*D/4*(th-np.sin(th)*np.cos(th)); T=D*np.sin(th)
        return Q*Q*T-g*a**3
    th=brentq(f,1e-6,np.pi-1e-12,xtol=1e-15)
    a=D*D/4*(th-np.sin(th)*np.cos(th)); y=D/2*(1-np.cos(th))
    return y+Q*Q/(2*g*a*a)
def run(rain,dur,tend,area=60.):
    r=area*rain/3.6e6
    # state y,Q,x(void length), passed
    t=0;s=np.array([0.,0.,0.,0.]);mode='A';peak=-9;peakt=0;low=9;events=[]
    def loss(Q,w): return (K/L)*w*Q*abs(Q)/(2*g*A*A)
    def F(mode):
        def f(t,s):
            y,Q,x,p=s
            q=r if t<dur else 0.
            ic=(y-foot)/(g*As)
            if mode=='A':
                dQ=(y-Ec(max(Q,0))-loss(Q,L))/(I+ic); dx=0; dp=Q
            else:
                w=L-x; h=-x if x<3 else -3.  # rise 3 m over the last 3 m (slope 1)
                dQ=(y-h-loss(Q,w))/(w/(g*A)+ic); dx=-Q/A; dp=0
            return [(q-Q)/As,dQ,dx,dp]
        return f
    while t<tend:
        t1=min([z for z in (dur,tend) if z>t+1e-12])
        evQ=lambda t,s:s[1]; evQ.terminal=True; evQ.direction=-1
        evx=lambda t,s:s[2]; evx.terminal=True; evx.direction=-1
        sol=solve_ivp(F(mode),(t,t1),s,method='DOP853',rtol=1e-10,atol=1e-13,events=[evQ if mode=='A' else evx],dense_output=True,max_step=.2)
        tt=np.linspace(sol.t[0],sol.t[-1],20001); yy=sol.sol(tt)
        i=yy[0].argmax()
        if yy[0][i]>peak: peak=yy[0][i];peakt=tt[i]
        low=min(low,yy[0].min())
        t=sol.t[-1]; s=sol.y[:,-1].copy()
        if sol.status==1:
            events.append((round(t,4),mode))
            if mode=='A': s[1]=0;s[2]=1e-15;mode='B'
            else: s[2]=0;mode='A'
            if len(events)>40: break
    return peak,peakt,low,s,events[:12]
print(run(100,60,120))
print(run(250,40,100))
